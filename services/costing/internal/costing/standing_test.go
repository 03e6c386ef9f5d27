package costing_test

import (
	"testing"
	"time"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// An hour of a closed day is told where the lines of the day come to what was counted of it, up to some point in the
// order in which they were recorded; and with what the close found late. Where they do not, it is the beginning of the day.
func TestStanding_Within(t *testing.T) {
	closed := at(4, 8, 12, 0)
	bill := func(recorded time.Time, amount, before money.Amount) []costing.SoFar {
		return []costing.SoFar{{RecordedAt: recorded, Account: "cash_clearing", Day: -amount, Before: -before}, {RecordedAt: recorded, Account: costing.OverheadSpent, Day: amount, Before: before}}
	}
	cash := func(amount money.Amount) []ledger.Balance {
		return []ledger.Balance{{Account: "cash_clearing", Amount: -amount}, {Account: costing.OverheadSpent, Amount: amount}, {Account: "revenue"}}
	}
	march := costing.Close{Month: monthOf(3), Since: monthOf(3).First, At: closed, Late: cash(100_00)}
	early, late, later := closed.AddDate(0, 0, -20), closed.Add(time.Minute), closed.Add(time.Hour)
	for name, c := range map[string]struct {
		day     int
		counted money.Amount
		lines   [][]costing.SoFar
		told    bool
		want    money.Amount // beyond what the day before came to
	}{
		"Morning":           {9, 5_00, [][]costing.SoFar{bill(early, 5_00, 2_00)}, true, 2_00},
		"MoreIsKnownNow":    {9, 5_00, [][]costing.SoFar{bill(early, 2_00, 2_00), bill(closed, 3_00, 0), bill(late, 4_00, 4_00)}, true, 2_00},
		"AndTakenBackAgain": {9, 5_00, [][]costing.SoFar{bill(early, 5_00, 2_00), bill(late, 4_00, 4_00), bill(later, -4_00, -3_00)}, true, 2_00},
		"ClocksDiffered":    {9, 5_00, [][]costing.SoFar{bill(early, 1_00, 1_00), bill(late, 4_00, 2_00), bill(later, 7_00, 7_00)}, true, 3_00},
		"ToldAsIfBefore":    {9, 5_00, [][]costing.SoFar{bill(early.Add(-time.Hour), 4_00, 4_00), bill(early, 5_00, 2_00)}, false, 0},
		"OneAccountDiffers": {9, 5_00, [][]costing.SoFar{bill(early, 5_00, 2_00), {{RecordedAt: early, Account: "revenue", Day: 1}}}, false, 0},
		"NothingWasCounted": {9, 0, [][]costing.SoFar{bill(late, 5_00, 2_00)}, true, 0},
		"NothingEver":       {9, 0, nil, true, 0},
		"FirstDay":          {1, 5_00, [][]costing.SoFar{bill(early, 5_00, 2_00)}, true, 102_00},
		"FirstDayNotTold":   {1, 5_00, [][]costing.SoFar{bill(early, 6_00, 2_00)}, false, 0},
	} {
		t.Run(name, func(t *testing.T) {
			var lines []costing.SoFar
			for _, l := range c.lines {
				lines = append(lines, l...)
			}
			asked := at(3, c.day, 11, 0)
			s := costing.StandingAt([]costing.Close{march}, asked, newYork)
			before := s.Counted[costing.OverheadSpent]
			s.Within(asked, cash(c.counted), lines)
			if got := s.Counted[costing.OverheadSpent] - before; got != c.want || s.At.Equal(asked) != c.told {
				t.Errorf("it comes to %d more and is for %v, want %d, told by the hour: %v", got, s.At, c.want, c.told)
			}
		})
	}
}
