package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	"tackfree/pkg/money"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Longest prints the pieces with the most hours in them, at most so many, and the sums of all.
func Longest(w io.Writer, pieces []*costingv1.PieceCost, most int, c money.Currency) error {
	all := &sheet{}
	for _, p := range pieces {
		all.add(p, c)
	}
	byHours := slices.SortedStableFunc(slices.Values(pieces), func(a, b *costingv1.PieceCost) int { return cmp.Compare(workedOn(b), workedOn(a)) })
	t := &Table{Headings: []string{" tag", "piece", "state", " hours", " bought", " labour", " material", " outside", " rework", " cost"}}
	for _, p := range byHours[:min(most, len(byHours))] {
		s := p.GetSums()
		t.Add(fmt.Sprint(p.Tag), Clip(p.Title, 36), StateOf(p), hours(workedOn(p)), Money(s.GetAcquisition()), Money(s.GetLabour()), Money(s.GetMaterial()),
			Money(s.GetOutside()), Money(s.GetRework()), Money(s.GetCost()))
	}
	t.Add()
	t.Add("", fmt.Sprintf("all %d pieces", len(pieces)), "", hours(all.worked), c.Format(all.acquisition), c.Format(all.labour), c.Format(all.material),
		c.Format(all.outside), c.Format(all.rework), c.Format(all.cost))
	return t.Print(w)
}
