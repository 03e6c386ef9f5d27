package costing

import (
	"maps"
	"slices"
	"time"

	"tackfree/pkg/id"
)

// Doubts are the lines for which the payroll cannot be paid, by week: of everybody the first with work
// that has no pay rate, and each whose entries contradict each other.
func (p *Payroll) Doubts() (out []PayLine) {
	told := map[id.ID]bool{}
	for _, monday := range slices.SortedFunc(maps.Keys(p.weeks), time.Time.Compare) {
		for _, l := range p.Of(WeekOf(monday, p.zone)) {
			if told[l.Person] {
				l.Unrated = time.Time{}
			}
			told[l.Person] = told[l.Person] || !l.Unrated.IsZero()
			if !l.Unrated.IsZero() || l.Tangled != "" {
				out = append(out, l)
			}
		}
	}
	return out
}
