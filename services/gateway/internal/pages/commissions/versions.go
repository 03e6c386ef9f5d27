package commissions

import (
	"fmt"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/words"
)

// mostCompared is how many versions stand side by side: the newest and those before it.
const mostCompared = 4

// compared is versions of an estimate side by side.
type compared struct {
	Versions []*intakev1.Estimate
	Earlier  int // versions that are not shown
	Rows     []comparedRow
}

// comparedRow is a line or a figure in each version.
type comparedRow struct {
	Name  string
	Cells []comparedCell
}

// comparedCell is what it is in one version, and whether that is otherwise than in the version before.
type comparedCell struct {
	Text    string
	Changed bool
}

// compare lays the newest versions side by side. There is nothing to compare of one.
func compare(v *words.Voice, all []*intakev1.Estimate) (c compared) {
	if len(all) < 2 {
		return c
	}
	c.Earlier = max(0, len(all)-mostCompared)
	c.Versions = all[c.Earlier:]
	columns := make([]map[string]string, len(c.Versions))
	var names []string
	seen := map[string]bool{}
	for i, e := range c.Versions {
		columns[i] = map[string]string{}
		for _, l := range linesShown(v, e.GetDraft().GetLines()) {
			name := l.What
			for n := 2; columns[i][name] != ""; n++ { // two lines of one name stay two
				name = fmt.Sprintf("%s (%d)", l.What, n)
			}
			columns[i][name] = joinedBy(" · ", l.Price, l.Much)
			if !seen[name] {
				seen[name], names = true, append(names, name)
			}
		}
	}
	for _, name := range names {
		c.Rows = append(c.Rows, rowOf(v, name, len(c.Versions), func(i int) string { return columns[i][name] }))
	}
	c.Rows = append(c.Rows, figureRows(v, c.Versions)...)
	return c
}

func figureRows(v *words.Voice, all []*intakev1.Estimate) (rows []comparedRow) {
	for _, f := range []struct {
		key string
		of  func(*intakev1.Estimate) string
	}{
		{"discount", func(e *intakev1.Estimate) string { return v.Money(e.GetTotals().GetDiscount()) }},
		{"tax", func(e *intakev1.Estimate) string { return v.Money(e.GetTotals().GetTax()) }},
		{"total", func(e *intakev1.Estimate) string { return v.Money(e.GetTotals().GetTotal()) }},
		{"deposit", func(e *intakev1.Estimate) string { return v.Money(e.GetDeposit()) }},
		{"promised", func(e *intakev1.Estimate) string { return dayText(v, e.GetDraft().GetPromised()) }},
		{"notes", func(e *intakev1.Estimate) string { return e.GetDraft().GetNotes() }},
	} {
		rows = append(rows, rowOf(v, v.T("commissions.figure."+f.key), len(all), func(i int) string { return f.of(all[i]) }))
	}
	return rows
}

func rowOf(v *words.Voice, name string, versions int, at func(int) string) comparedRow {
	row := comparedRow{Name: name}
	for i := range versions {
		cell := comparedCell{Text: at(i), Changed: i > 0 && at(i) != at(i-1)}
		if cell.Text == "" {
			cell.Text = v.T("none")
		}
		row.Cells = append(row.Cells, cell)
	}
	return row
}

func joinedBy(sep string, all ...string) (out string) {
	for _, s := range all {
		if s != "" && out != "" {
			out += sep
		}
		out += s
	}
	return out
}
