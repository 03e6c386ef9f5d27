// Package literature reads the text formats in which the literature keeps its shops and projects, and makes the shops of
// Taillard's generator. Trade, pure.
//
//	text ─▶ numbers: fields of a line, with the number of the line ─┬▶ JobShop, FlexibleJobShop ─▶ jobshop.Shop
//	                                                                └▶ Project, ProjectWithLags ─▶ project.Project
//	seeds ─▶ Taillard ─▶ jobshop.Shop
//
// A malformed text is refused with the number of the line and the reason.
package literature

import (
	"bufio"
	"errors"
	"io"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
)

// Limits of what is read, so that a text that lies about itself costs nothing.
const (
	mostJobs       = 10_000
	mostMachines   = 10_000
	mostOperations = 200_000
	mostResources  = 1_000
	mostDuration   = 1 << 24
	longestLine    = 1 << 20
)

// numbers reads a text line by line; a line that is empty or begins with # counts for nothing.
type numbers struct {
	lines  *bufio.Scanner
	line   int
	fields []string
}

func read(r io.Reader) *numbers {
	n := &numbers{lines: bufio.NewScanner(r)}
	n.lines.Buffer(make([]byte, 0, 4096), longestLine)
	return n
}

// next goes to the next line that says something; wanted is what should stand there.
func (n *numbers) next(wanted string) error {
	for n.lines.Scan() {
		n.line++
		n.fields = strings.Fields(n.lines.Text())
		if len(n.fields) > 0 && !strings.HasPrefix(n.fields[0], "#") {
			return nil
		}
	}
	switch err := n.lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		n.line++
		return n.fault("the line has more than %d characters", longestLine)
	case err != nil:
		return fault.New(fault.Invalid, "UNREADABLE", "the file cannot be read behind line %d", n.line).Because(err)
	}
	n.line++
	return n.fault("the file ends, but %s should follow", wanted)
}

// over refuses what stands behind the end.
func (n *numbers) over() error {
	for n.lines.Scan() {
		n.line++
		if f := strings.Fields(n.lines.Text()); len(f) > 0 && !strings.HasPrefix(f[0], "#") {
			return n.fault("nothing should follow, but there is %q", short(f[0]))
		}
	}
	return nil
}

// whole takes the next field of the line, a whole number from low to high.
func (n *numbers) whole(what string, low, high int) (int, error) {
	if len(n.fields) == 0 {
		return 0, n.fault("the line ends, but %s should follow", what)
	}
	word := n.fields[0]
	n.fields = n.fields[1:]
	v, err := strconv.Atoi(word)
	if err != nil {
		return 0, n.fault("%s should be a whole number, not %q", what, short(word))
	}
	if v < low || v > high {
		return 0, n.fault("%s is %d; it should be from %d to %d", what, v, low, high)
	}
	return v, nil
}

// end refuses what stands behind the last field of a line.
func (n *numbers) end() error {
	if len(n.fields) > 0 {
		return n.fault("nothing should follow on the line, but there is %q", short(n.fields[0]))
	}
	return nil
}

func (n *numbers) fault(format string, args ...any) error {
	f := fault.New(fault.Invalid, "MALFORMED_FILE", format, args...)
	f.Text = "line " + strconv.Itoa(n.line) + ": " + f.Text
	return f.At("line " + strconv.Itoa(n.line))
}

func short(word string) string {
	if len(word) > 24 {
		return word[:24] + "…"
	}
	return word
}
