package costing_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// M. Franklin, P. Graybeal and D. Cooper, Principles of Accounting, Volume 2: Managerial Accounting
// (OpenStax, 2019), section 8.3: 0.20 hours at 9.50 against 0.10 at 8.00, and 16,000 hours at 35.35
// against 16,500 at 35.00. What is above zero is unfavourable.
func TestVarianceOf_Published(t *testing.T) {
	for _, c := range []struct {
		standard          money.Amount
		planned, actual   time.Duration
		pay               money.Amount
		price, efficiency money.Amount
		both              money.Amount
	}{
		{8_00, 6 * time.Minute, 12 * time.Minute, 1_90, 30, 80, 1_10},
		{35_00, 16_500 * time.Hour, 16_000 * time.Hour, 565_600_00, 5_600_00, -17_500_00, -11_900_00},
	} {
		v := costing.VarianceOf(c.standard, c.planned, c.actual, c.pay)
		if v.Price != c.price || v.Efficiency != c.efficiency || v.Labour() != c.both {
			t.Errorf("VarianceOf(%d, %s, %s, %d) = %d, %d, %d; want %d, %d, %d", c.standard, c.planned, c.actual, c.pay, v.Price, v.Efficiency, v.Labour(), c.price, c.efficiency, c.both)
		}
	}
}

// Whatever is rounded, the two variances are what was paid less what was planned.
func TestVarianceOf_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		standard := money.Amount(rapid.Int64Range(0, 1_000_000).Draw(t, "standard"))
		hours := func(name string) time.Duration {
			return time.Duration(rapid.Int64Range(0, 1_000*3_600_000).Draw(t, name)) * time.Millisecond
		}
		planned, pay := hours("planned"), money.Amount(rapid.Int64Range(0, 1_000_000).Draw(t, "pay"))
		v := costing.VarianceOf(standard, planned, hours("actual"), pay)
		if v.Labour() != pay-costing.ForTime(standard, planned) {
			t.Fatalf("%d + %d is not %d less %d", v.Price, v.Efficiency, pay, costing.ForTime(standard, planned))
		}
	})
}

// drawStages makes up stages that took some time or other.
func drawStages(t *rapid.T) []costing.StageWork {
	pieces := []id.ID{id.New(), id.New(), id.New()}
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) costing.StageWork {
		n := rapid.IntRange(0, 2).Draw(t, "piece")
		s := costing.StageWork{Stage: costing.Stage{ID: id.New(), Piece: pieces[n], Kind: rapid.SampledFrom([]string{"sand", "paint_coat", "strip"}).Draw(t, "kind"),
			Planned: time.Duration(rapid.IntRange(0, 100).Draw(t, "planned")) * time.Minute, State: costing.StageOpen},
			Tag: int32(n), First: time.Duration(rapid.IntRange(0, 1e7).Draw(t, "first")) * time.Millisecond, Later: time.Duration(rapid.IntRange(0, 1e7).Draw(t, "later")) * time.Millisecond,
			Pay: money.Amount(rapid.IntRange(0, 10_000).Draw(t, "pay"))}
		if rapid.Bool().Draw(t, "done") {
			s.State, s.DoneAt = costing.StageDone, monday.AddDate(0, 0, rapid.IntRange(-90, 90).Draw(t, "day"))
		}
		return s
	}), 0, 30).Draw(t, "stages")
}

// However stages are told apart, the lines add up to the same total, and every stage is in one of them.
func TestMeasure_LinesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stages := drawStages(t)
		by := costing.NewYardstick([]costing.StandardRate{{From: monday, PerHour: 24_00}}, nil)
		_, want := costing.Measure(stages, costing.ByStageKind, by, time.UTC)
		if int(want.Stages+want.LeftOut) != len(stages) {
			t.Fatalf("%d measured and %d left out, of %d", want.Stages, want.LeftOut, len(stages))
		}
		for _, way := range []costing.Measured{costing.ByStageKind, costing.ByPiece, costing.ByMonth} {
			lines, total := costing.Measure(stages, way, by, time.UTC)
			if diff := cmp.Diff(want, total, cmp.AllowUnexported(costing.Of{})); diff != "" {
				t.Fatalf("%s (-total by kind +its):\n%s", way, diff)
			}
			var sum costing.PlanActual
			for i, l := range lines {
				sum.Stages, sum.LeftOut, sum.Planned, sum.Actual, sum.Pay = sum.Stages+l.Stages, sum.LeftOut+l.LeftOut, sum.Planned+l.Planned, sum.Actual+l.Actual, sum.Pay+l.Pay
				sum.Price, sum.Efficiency, sum.Unpriced = sum.Price+l.Price, sum.Efficiency+l.Efficiency, sum.Unpriced+l.Unpriced
				if i > 0 && lines[i-1].Order() >= l.Order() {
					t.Fatalf("%q comes before %q", lines[i-1].Order(), l.Order())
				}
			}
			if sum.Stages != total.Stages || sum.LeftOut != total.LeftOut || sum.Planned != total.Planned || sum.Actual != total.Actual || sum.Pay != total.Pay ||
				sum.Price != total.Price || sum.Efficiency != total.Efficiency || sum.Unpriced != total.Unpriced {
				t.Fatalf("%s: the lines add up to %+v, the total is %+v", way, sum, total)
			}
		}
		if lines, _ := costing.Measure(stages, costing.ByStage, by, time.UTC); len(lines) != len(stages) {
			t.Fatalf("%d lines for %d stages", len(lines), len(stages))
		}
	})
}

// Of two standards that begin on a day the one set later holds; before the first it is the average.
func TestYardstick_At(t *testing.T) {
	average := money.Amount(21_00)
	y := costing.NewYardstick([]costing.StandardRate{{From: monday, PerHour: 24_00}, {From: monday, PerHour: 25_00}, {From: monday.AddDate(0, 0, 7), PerHour: 26_00}}, &average)
	for at, want := range map[time.Time]money.Amount{monday.Add(-1): 21_00, monday: 25_00, monday.AddDate(0, 0, 7).Add(-1): 25_00, monday.AddDate(0, 0, 7): 26_00} {
		if got, known := y.At(at); got != want || !known {
			t.Errorf("At(%s) = %d, %t; want %d", at, got, known, want)
		}
	}
	if got, known := costing.NewYardstick(nil, nil).At(monday); known {
		t.Errorf("nobody said anything, and an hour should cost %d", got)
	}
}

// 2 hours at 20.00 and 1 at 30.01 are 70.01 / 3 = 23.34; hours as many as nobody works still fit.
func TestAverageRate(t *testing.T) {
	if got := costing.AverageRate([]costing.RatedHours{{PerHour: 20_00, Time: 2 * time.Hour}, {PerHour: 30_01, Time: time.Hour}}); got == nil || *got != 23_34 {
		t.Errorf("AverageRate = %v, want 23.34", got)
	}
	if got := costing.AverageRate(nil); got != nil {
		t.Errorf("AverageRate of no hours = %d", *got)
	}
	if got := costing.AverageRate([]costing.RatedHours{{PerHour: money.Max, Time: 2_000_000 * time.Hour}}); got == nil || *got != money.Max {
		t.Errorf("AverageRate = %v, want %d", got, money.Max)
	}
}
