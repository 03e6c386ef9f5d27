package costing_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
)

// What is said again from a later day, or is said of others, changes not a cent. Twenty minutes over midnight at
// 20.01 an hour are 6.67, and 8.19 percent of that 0.55; of two halves, each rounded by itself, they would be 6.68 or
// 6.66, and 0.54.
func TestTerms_SaidAgain(t *testing.T) {
	long, midnight, later := at(1, 1, 0, 0), at(3, 11, 0, 0), monday.Add(time.Hour)
	byMachine := func(o costing.OverheadRate) costing.OverheadRate {
		o.Basis = costing.MachineHour
		return o
	}
	ends := burden(nell, 0, midnight, later)
	ends.Ends = true
	known := said{
		rates:     []costing.Rate{rate(20_01, long, monday)},
		burdens:   []costing.Burden{burden(id.Nil, 81_900, long, monday), burden(nell, 81_900, at(2, 1, 0, 0), monday)},
		overheads: []costing.OverheadRate{overhead("", 20_01, long, monday), byMachine(overhead("bench", 20_01, long, monday, "sand"))},
	}
	for name, c := range map[string]struct {
		kind string
		said
	}{
		"Rate":                   {"fill", said{rates: []costing.Rate{rate(20_01, midnight, later)}}},
		"OwnBurden":              {"fill", said{burdens: []costing.Burden{burden(nell, 81_900, midnight, later)}}},
		"BurdenOfEverybodyElse":  {"fill", said{burdens: []costing.Burden{burden(id.Nil, 200_000, midnight, later)}}},
		"BurdenEndsAsEverybodys": {"fill", said{burdens: []costing.Burden{ends}}},
		"OverheadOfTheShop":      {"fill", said{overheads: []costing.OverheadRate{overhead("", 20_01, midnight, later)}}},
		"OverheadOfADepartment":  {"fill", said{overheads: []costing.OverheadRate{overhead("booth", 50_00, midnight, later, "topcoat_coat")}}},
		"MachineOfOthers":        {"sand", said{overheads: []costing.OverheadRate{overhead("", 99_00, midnight, later)}}},
		"MachineAgain":           {"sand", said{overheads: []costing.OverheadRate{byMachine(overhead("bench", 20_01, midnight, later, "sand", "strip"))}}},
	} {
		t.Run(name, func(t *testing.T) {
			before := known.overMidnight(c.kind, midnight)
			if before.Labour != 6_67 || before.Burden != 55 || before.Overhead != 6_67 {
				t.Fatalf("at first %+v, want a third of 20.01 twice, and 0.55", before)
			}
			all := said{slices.Concat(known.rates, c.rates), slices.Concat(known.burdens, c.burdens), slices.Concat(known.overheads, c.overheads)}
			if got := all.overMidnight(c.kind, midnight); got != before {
				t.Errorf("now %+v, want %+v as before", got, before)
			}
		})
	}
}

// said is what was said of pay, and of what comes on top.
type said struct {
	rates     []costing.Rate
	burdens   []costing.Burden
	overheads []costing.OverheadRate
}

// overMidnight is what twenty minutes cost on a kind of stage, half of them before midnight.
func (is said) overMidnight(kind string, midnight time.Time) costing.Sums {
	b, s := costing.NewBook(costing.Standard()), nells(midnight.Add(-10*time.Minute), 20*time.Minute)
	s.Stage, s.StageKind, s.RecordedAt = id.New(), kind, monday.AddDate(0, 1, 0)
	terms := costing.NewTerms(is.rates, is.burdens, is.overheads)
	b.Work(s, terms)
	b.Rerun(s, terms, costing.Cause{})
	sums := b.Of(s.Piece).Sums
	for _, l := range b.MachineHours(nil, is.overheads)[s.Stage] {
		if l.Bucket == costing.Overhead {
			sums.Overhead += l.Amount
		}
	}
	return sums
}
