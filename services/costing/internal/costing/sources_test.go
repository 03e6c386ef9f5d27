package costing_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// boughtAt is a piece of a source that came in on a monday, sold after so many days for a profit in so many hours.
func boughtAt(source string, days, profit, hours int) costing.Sheet {
	return costing.Sheet{Piece: id.New(), Origin: costing.Origin{Source: source, CameAt: monday}, Sales: costing.Sold, SoldAt: monday.AddDate(0, 0, days),
		Sums: costing.Sums{Acquisition: 10_00, Revenue: money.Amount(10_00 + profit), LabourTime: time.Duration(hours) * time.Hour}}
}

// By hand: the auction's 30.00 and 90.00 in 1 and 2 hours are 40.00 an hour, off by -10 and 10, so the spread of one piece is
// 200 ÷ 1.5² = 88.89 and the interval 40 ± 12.706 × √(88.89 ÷ 2), 12.706 being Student's t of one degree of freedom.
func TestCompareSources(t *testing.T) {
	unsold, gone, both := boughtAt("auction", 0, 0, 4), boughtAt("kerb", 0, -5_00, 1), boughtAt("kerb", 9, 8_00, 1)
	unsold.Sales, unsold.Revenue = costing.Listed, 0
	gone.Sales, gone.Scrapped = costing.NotListed, true
	both.Scrapped = true // sold and scrapped at once
	sources, total, err := costing.CompareSources([]costing.Sheet{boughtAt("auction", 10, 30_00, 1), boughtAt("kerb", 7, 1_00, 1), unsold, boughtAt("auction", 30, 90_00, 2), gone, both, boughtAt("barn", 3, 50_00, 0)})
	if err != nil {
		t.Fatal(err)
	}
	say := func(s costing.Source) string {
		perHour, _ := s.PerLabourHour()
		amount := func(a *money.Amount) string {
			if a == nil {
				return "–"
			}
			return fmt.Sprint(*a)
		}
		return fmt.Sprintf("%s %d=%d+%d+%d %g days, paid %d, %d lost %d, %d an hour %s…%s", s.Title, s.Bought, s.Unsold, s.Sold, s.GivenUp, s.MedianDays, s.Paid, s.Profit(), s.Lost, perHour, amount(s.Low), amount(s.High))
	}
	var got []string
	for _, s := range sources {
		got = append(got, say(s))
	}
	want := []string{"auction 3=1+2+0 20 days, paid 3000, 12000 lost 0, 4000 an hour -4471…12471", "kerb 3=0+2+1 8 days, paid 3000, 900 lost 500, 450 an hour -3997…4897",
		"barn 1=0+1+0 3 days, paid 1000, 5000 lost 0, 0 an hour –…–"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("CompareSources (-want +got):\n%s", diff)
	}
	if total.Bought != 7 || total.Sold != 5 || total.Unsold != 1 || total.GivenUp != 1 || total.Profit() != 179_00 || total.MedianDays != 9 || total.Paid != 70_00 {
		t.Errorf("total = %s", say(total))
	}
	auction, kerb := *sources[0].Pooled, *sources[1].Pooled
	if sources[2].Pooled != nil || auction >= 40_00 || auction <= kerb || kerb <= 4_50 {
		t.Errorf("drawn towards all: %d and %d", auction, kerb)
	}
}

// One piece of each source says nothing of how much pieces differ: nothing is drawn, and nothing has an interval.
func TestCompareSources_OfOneEach(t *testing.T) {
	sources, total, err := costing.CompareSources([]costing.Sheet{boughtAt("auction", 10, 30_00, 1), boughtAt("kerb", 7, 60_00, 1)})
	if err != nil || len(sources) != 2 || sources[0].Title != "kerb" || sources[0].Pooled != nil || sources[0].Low != nil || total.Low == nil {
		t.Errorf("CompareSources = %+v, %+v, %v", sources, total, err)
	}
	if none, total, err := costing.CompareSources(nil); err != nil || len(none) != 0 || total.Bought != 0 {
		t.Errorf("CompareSources of nothing = %v, %+v, %v", none, total, err)
	}
}
