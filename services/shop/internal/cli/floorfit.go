package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/rivo/uniseg"
)

// count says how many there are.
func count(n int, none, one, many string) string {
	switch n {
	case 0:
		return none
	case 1:
		return one
	}
	return fmt.Sprintf(many, n)
}

// atMost are so many rows; the last says how many are left out.
func (b band) atMost(room int) []string {
	if len(b.rows) <= room || room <= 0 {
		return b.rows[:max(min(len(b.rows), room), 0)]
	}
	return append(slices.Clone(b.rows[:room-1]), fmt.Sprintf("  … and %d more", len(b.rows)-room+1))
}

// rooms parts a number of lines over bands: each gets what it needs, or as much as the others.
func rooms(needs []int, lines int) []int {
	got := make([]int, len(needs))
	for lines > 0 {
		given := false
		for i := range needs {
			if got[i] < needs[i] && lines > 0 {
				got[i], lines, given = got[i]+1, lines-1, true
			}
		}
		if !given {
			break
		}
	}
	return got
}

// clipped is a line as wide as it may be at most; colours take no place, and end with it.
func clipped(line string, width int) string {
	var b strings.Builder
	at, colour, state := 0, false, -1
	for len(line) > 0 {
		if strings.HasPrefix(line, "\x1b[") {
			end := strings.IndexByte(line, 'm') + 1
			b.WriteString(line[:end])
			colour, line, state = line[:end] != "\x1b[0m", line[end:], -1
			continue
		}
		cluster, rest, wide, next := uniseg.FirstGraphemeClusterInString(line, state)
		if at+wide > width {
			break
		}
		b.WriteString(cluster)
		at, line, state = at+wide, rest, next
	}
	if colour {
		b.WriteString("\x1b[0m")
	}
	return b.String()
}
