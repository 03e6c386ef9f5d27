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

// drawSold makes up sold pieces.
func drawSold(t *rapid.T) []costing.Sheet {
	people := []id.ID{id.New(), id.New(), id.New()}
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) costing.Sheet {
		word := func(name string) string { return rapid.SampledFrom([]string{"", "a", "b", "c"}).Draw(t, name) }
		amount := func(name string) money.Amount { return money.Amount(rapid.Int64Range(0, 100_000).Draw(t, name)) }
		s := costing.Sheet{Piece: id.New(), Sales: costing.Sold, Origin: costing.Origin{Tag: int32(rapid.IntRange(0, 5).Draw(t, "tag")), Kind: word("kind"), Source: word("source")},
			Finish: word("finish"), Channel: word("channel"), SoldAt: monday.AddDate(0, 0, rapid.IntRange(0, 90).Draw(t, "day")),
			Sums: costing.Sums{Acquisition: amount("bought"), Labour: amount("labour"), Premium: amount("premium"), Burden: amount("burden"), Overhead: amount("overhead"),
				Material: amount("material"), Outside: amount("outside"), Rework: amount("rework"), Fees: amount("fees"), Revenue: amount("revenue"), Tax: amount("tax"),
				LabourTime: time.Duration(amount("worked")) * time.Second, ReworkTime: time.Duration(amount("again")) * time.Second}}
		for _, p := range people {
			if d := time.Duration(rapid.IntRange(0, 100).Draw(t, "hours")) * time.Minute; d > 0 {
				s.Work = append(s.Work, costing.Work{Person: p, PersonName: "one of three", Time: d})
			}
		}
		if rapid.Bool().Draw(t, "open") {
			s.Refused = 1
		}
		return s
	}), 0, 20).Draw(t, "sold")
}

// However sold pieces are told apart, every piece is in one line, and the lines add up to all of them.
func TestEarn_LinesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sold := drawSold(t)
		var profit, revenue money.Amount
		var worked time.Duration
		for _, s := range sold {
			profit, revenue, worked = profit+s.Profit(), revenue+s.Revenue, worked+s.LabourTime+s.ReworkTime
		}
		for _, by := range []costing.EarnedBy{costing.EachPiece, costing.OfKind, costing.OfSource, costing.OfFinish, costing.OfChannel, costing.OfWorkers, costing.OfMonth} {
			lines, total := costing.Earn(sold, by, time.UTC, usd)
			if total.Profit() != profit || total.Revenue != revenue || total.LabourTime+total.ReworkTime != worked || int(total.Pieces) != len(sold) {
				t.Fatalf("%s: total %+v, want a profit of %d", by, total, profit)
			}
			var sum costing.Earning
			for i, l := range lines {
				sum.Pieces, sum.Provisional = sum.Pieces+l.Pieces, sum.Provisional+l.Provisional
				profit -= l.Profit()
				if i > 0 && lines[i-1].Order() >= l.Order() {
					t.Fatalf("%q comes before %q", lines[i-1].Order(), l.Order())
				}
			}
			if profit != 0 || sum.Pieces != total.Pieces || sum.Provisional != total.Provisional {
				t.Fatalf("%s: the lines leave %d of the profit, and are %d pieces of %d", by, profit, sum.Pieces, total.Pieces)
			}
			profit = total.Profit()
		}
	})
}

// A tenth of the hours is enough, less is not; and who has nothing left after corrections has none.
func TestEarn_Workers(t *testing.T) {
	nell, ola, rae := id.New(), id.New(), id.New()
	worked := func(hands ...costing.Work) string {
		lines, _ := costing.Earn([]costing.Sheet{{Piece: id.New(), Work: hands}}, costing.OfWorkers, time.UTC, usd)
		return lines[0].Title
	}
	hand := func(person id.ID, name string, d time.Duration) costing.Work {
		return costing.Work{Person: person, PersonName: name, Time: d}
	}
	for want, hands := range map[string][]costing.Work{
		"Nell, Ola":      {hand(ola, "Ola", time.Hour), hand(nell, "Nell", 9*time.Hour)},
		"Nell":           {hand(nell, "Nell", 9*time.Hour+time.Second), hand(ola, "Ola", time.Hour)},
		"Nell, Ola, Rae": {hand(nell, "Nell", 30*time.Minute), hand(ola, "Ola", time.Hour), hand(rae, "Rae", time.Hour), hand(nell, "Nell", time.Hour)},
		"Ola":            {hand(nell, "Nell", 0), hand(ola, "Ola", time.Minute)},
		"":               nil,
	} {
		if got := worked(hands...); got != want {
			t.Errorf("workers = %q, want %q", got, want)
		}
	}
}

// What an hour earned and how much of the price, worked out by hand: 100.00 less 10.00 and 45.00 in
// 2:15 hours are 20.00 an hour and 45 %.
func TestEarning_PerHourAndMargin(t *testing.T) {
	_, e := costing.Earn([]costing.Sheet{{Sums: costing.Sums{Revenue: 100_00, Fees: 10_00, Material: 45_00, LabourTime: 2 * time.Hour, ReworkTime: 15 * time.Minute}}}, costing.OfKind, time.UTC, usd)
	perHour, ok := e.PerLabourHour()
	if diff := cmp.Diff([]any{money.Amount(20_00), true, "45"}, []any{perHour, ok, e.Margin()}); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
