// Package report prints what the shop knows, for people: tables on a terminal.
package report

import (
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"
)

// Table is rows under headings. A column is aligned right when its heading begins with a
// blank.
type Table struct {
	Headings []string
	rows     [][]string
}

// Add adds a row. A row without cells is a rule.
func (t *Table) Add(cells ...string) { t.rows = append(t.rows, cells) }

// Print writes the table, each column as wide as its widest cell.
func (t *Table) Print(w io.Writer) error {
	widths := make([]int, len(t.Headings))
	for _, row := range append([][]string{trimmed(t.Headings)}, t.rows...) {
		for i, cell := range row {
			widths[i] = max(widths[i], width(cell))
		}
	}
	var b strings.Builder
	t.line(&b, trimmed(t.Headings), widths)
	rule(&b, widths)
	for _, row := range t.rows {
		if len(row) == 0 {
			rule(&b, widths)
			continue
		}
		t.line(&b, row, widths)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (t *Table) line(b *strings.Builder, cells []string, widths []int) {
	var line strings.Builder
	for i, cell := range cells {
		pad := strings.Repeat(" ", widths[i]-width(cell))
		if strings.HasPrefix(t.Headings[i], " ") {
			cell = pad + cell
		} else {
			cell += pad
		}
		fmt.Fprintf(&line, "%s  ", cell)
	}
	b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
}

// colour is a change of colour on a terminal, which takes no place.
var colour = regexp.MustCompile("\x1b\\[[0-9;]*m")

// width is how many places a cell takes.
func width(cell string) int { return utf8.RuneCountInString(colour.ReplaceAllString(cell, "")) }

func rule(b *strings.Builder, widths []int) {
	var line strings.Builder
	for _, w := range widths {
		line.WriteString(strings.Repeat("─", w) + "  ")
	}
	b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
}

func trimmed(headings []string) []string {
	out := make([]string, len(headings))
	for i, h := range headings {
		out[i] = strings.TrimSpace(h)
	}
	return out
}
