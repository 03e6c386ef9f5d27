package costing_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

func machine(department string, perHour money.Amount, from, recorded time.Time, kinds ...string) costing.OverheadRate {
	r := overhead(department, perHour, from, recorded, kinds...)
	r.Basis = costing.MachineHour
	return r
}

// run books stretches as they are told and settles what their stages carry by the machine hour.
func run(rates []costing.OverheadRate, stretches ...costing.Stretch) *costing.Book {
	b, terms := costing.NewBook(costing.Standard()), costing.NewTerms(nil, nil, rates)
	for _, s := range stretches {
		b.Work(s, terms)
	}
	settleMachines(b, nil, nil, rates)
	return b
}

func settleMachines(b *costing.Book, before []costing.Stretch, posted map[id.ID][]costing.Dated, rates []costing.OverheadRate) {
	for stage, want := range b.MachineHours(before, rates) {
		b.Settle(costing.Group{Kind: costing.Machine, ID: stage}, b.WhyRerun(stage), posted[stage], want)
	}
}

// The booth costs 24.00 an hour while anybody sprays in it, however many do; what is corrected is
// corrected there too, each instant has its own rate, and other stages are free of it.
func TestBook_MachineHours(t *testing.T) {
	long := monday.AddDate(0, 0, -7)
	booth := []costing.OverheadRate{machine("booth", 24_00, long, long, "topcoat_coat")}
	stage, piece := id.New(), id.New()
	spray := func(from, until int) costing.Stretch { // minutes after the beginning
		return costing.Stretch{Fact: fact(piece), Sign: 1, Entry: id.New(), Person: id.New(), Stage: stage, StageKind: "topcoat_coat",
			Start: monday.Add(time.Duration(from) * time.Minute), End: monday.Add(time.Duration(until) * time.Minute)}
	}
	away := func(s costing.Stretch) costing.Stretch {
		s.ID, s.Sign = id.New(), -1
		return s
	}
	again := func(s costing.Stretch) costing.Stretch {
		s.Rework = true
		return s
	}
	slip := spray(0, 300)
	for name, c := range map[string]struct {
		rates     []costing.OverheadRate
		stretches []costing.Stretch
		want      costing.Sums
	}{
		"One":                 {booth, []costing.Stretch{spray(0, 60)}, costing.Sums{Overhead: 24_00}},
		"TwoAtOnce":           {booth, []costing.Stretch{spray(0, 60), spray(30, 90)}, costing.Sums{Overhead: 36_00}},
		"OneWithinTheOther":   {booth, []costing.Stretch{spray(0, 60), spray(20, 30)}, costing.Sums{Overhead: 24_00}},
		"OneAfterTheOther":    {booth, []costing.Stretch{spray(0, 30), spray(30, 60), spray(90, 120)}, costing.Sums{Overhead: 36_00}},
		"Corrected":           {booth, []costing.Stretch{slip, away(slip), spray(0, 60)}, costing.Sums{Overhead: 24_00}},
		"CorrectedThenMore":   {booth, []costing.Stretch{slip, away(slip), spray(0, 60), spray(400, 460)}, costing.Sums{Overhead: 48_00}},
		"TakenAway":           {booth, []costing.Stretch{slip, away(slip)}, costing.Sums{}},
		"Again":               {booth, []costing.Stretch{spray(0, 60), again(spray(120, 150))}, costing.Sums{Overhead: 24_00, Rework: 12_00}},
		"DearerFromHalfway":   {append(booth, machine("booth", 36_00, monday.Add(30*time.Minute), long, "topcoat_coat")), []costing.Stretch{spray(0, 60)}, costing.Sums{Overhead: 12_00 + 18_00}},
		"NoRateAnyMore":       {append(booth, machine("booth", 0, monday.Add(30*time.Minute), long)), []costing.Stretch{spray(0, 60)}, costing.Sums{Overhead: 12_00}},
		"OtherStages":         {[]costing.OverheadRate{machine("booth", 24_00, long, long, "stain")}, []costing.Stretch{spray(0, 60)}, costing.Sums{}},
		"TheWholeShop":        {[]costing.OverheadRate{machine("", 6_00, long, long)}, []costing.Stretch{spray(0, 60), spray(0, 60)}, costing.Sums{Overhead: 6_00}},
		"RoundedOnceForARun":  {[]costing.OverheadRate{machine("", 1, long, long)}, []costing.Stretch{spray(0, 45), spray(45, 90), spray(200, 229)}, costing.Sums{Overhead: 2}},
		"ByTheLabourHourOnly": {[]costing.OverheadRate{overhead("", 6_00, long, long)}, []costing.Stretch{spray(0, 60), spray(0, 60)}, costing.Sums{Overhead: 12_00}},
	} {
		t.Run(name, func(t *testing.T) {
			b := run(c.rates, c.stretches...)
			got := b.Of(piece).Sums
			got.LabourTime, got.ReworkTime = 0, 0
			if got != c.want || b.Check() != nil {
				t.Errorf("sheet = %+v, want %+v (%v)", got, c.want, b.Check())
			}
			if applied := balance(b, costing.OverheadApplied); applied != -(c.want.Overhead + c.want.Rework) {
				t.Errorf("applied = %d, want what the piece carries", -applied)
			}
		})
	}
}

// Where no machine hour ever had a rate, nothing has to be read.
func TestBook_MachineHours_NothingToReadWithoutARate(t *testing.T) {
	b := run([]costing.OverheadRate{overhead("", 6_00, monday, monday)}, sanding())
	if stages, pieces := b.Reruns(); len(stages) != 0 || len(pieces) != 0 {
		t.Errorf("stages %v of %v are to be settled", stages, pieces)
	}
}

// In whatever order stretches come, and in however many batches, a stage comes to the same.
func TestBook_MachineHours_NoOrderMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stage, piece := id.New(), id.New()
		rates := []costing.OverheadRate{machine("", 17_77, monday, monday), machine("", 20_11, monday.Add(3*time.Hour), monday)}
		var all []costing.Stretch
		for range rapid.IntRange(1, 8).Draw(t, "stretches") {
			start := monday.Add(time.Duration(rapid.IntRange(0, 400).Draw(t, "start")) * time.Minute)
			s := costing.Stretch{Fact: fact(piece), Sign: 1, Entry: id.New(), Person: nell, Stage: stage, StageKind: "sand", Rework: rapid.Bool().Draw(t, "again"),
				Start: start, End: start.Add(time.Duration(rapid.IntRange(1, 120).Draw(t, "length")) * time.Minute)}
			all = append(all, s)
			if rapid.Bool().Draw(t, "taken away") {
				s.ID, s.Sign = id.New(), -1
				all = append(all, s)
			}
		}
		want := run(rates, all...).Of(piece).Sums
		var before []costing.Stretch
		posted := map[id.ID][]costing.Dated{}
		var got costing.Sums
		for left := rapid.Permutation(all).Draw(t, "order"); len(left) > 0; {
			n := rapid.IntRange(1, len(left)).Draw(t, "batch")
			b, terms := costing.NewBook(costing.Standard()), costing.NewTerms(nil, nil, rates)
			for _, s := range left[:n] {
				b.Work(s, terms)
			}
			settleMachines(b, before, posted, rates)
			for _, tx := range b.Transactions {
				for _, l := range tx.Lines {
					posted[tx.Group.ID] = append(posted[tx.Group.ID], costing.Dated{At: tx.OccurredAt, Line: l})
				}
			}
			got.Overhead += b.Of(piece).Overhead
			got.Rework += b.Of(piece).Rework
			before, left = slices.Concat(before, left[:n]), left[n:]
		}
		if got.Overhead != want.Overhead || got.Rework != want.Rework {
			t.Fatalf("in this order %d and %d of rework, at once %d and %d", got.Overhead, got.Rework, want.Overhead, want.Rework)
		}
	})
}
