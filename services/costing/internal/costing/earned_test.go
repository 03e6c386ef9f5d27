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

// What was given up earns nothing and loses what it cost and what sales of it left; the hours and the profit
// of the source are those of what it sold. One that was sold and scrapped at once is sold, as in the ledger.
func TestEarn_GivenUp(t *testing.T) {
	sale, sums := costing.Origin{Source: "church sale"}, costing.Sums{Acquisition: 10_00, Labour: 20_00, LabourTime: time.Hour}
	sold, both, gone := sums, sums, sums
	sold.Revenue, both.Revenue, gone.Fees = 100_00, 50_00, 4_00
	ended := []costing.Sheet{
		{Piece: id.New(), Origin: sale, Sales: costing.Sold, SoldAt: monday, Sums: sold},
		{Piece: id.New(), Origin: sale, Sales: costing.Sold, Scrapped: true, SoldAt: monday, Sums: both},
		{Piece: id.New(), Origin: sale, Sales: costing.Listed, Scrapped: true, GivenUpAt: monday.AddDate(0, 2, 0), Sums: gone},
		{Piece: id.New(), Origin: costing.Origin{Source: "kerb"}, Sales: costing.NotListed, Scrapped: true, GivenUpAt: monday, Sums: costing.Sums{Labour: 7_00}, Refused: 1},
	}
	type line struct {
		Title                        string
		Pieces, GivenUp, Provisional int32
		Profit, Lost                 money.Amount
		Worked                       time.Duration
	}
	of := func(e costing.Earning) line {
		return line{e.Title, e.Pieces, e.GivenUp, e.Provisional, e.Profit(), e.Lost, e.LabourTime}
	}
	for by, want := range map[costing.EarnedBy][]line{
		costing.OfSource: {{"church sale", 2, 1, 1, 70_00 + 20_00, 34_00, 2 * time.Hour}, {"kerb", 0, 1, 1, 0, 7_00, 0}},
		costing.OfMonth:  {{monday.Format("2006-01"), 2, 1, 2, 90_00, 7_00, 2 * time.Hour}, {monday.AddDate(0, 2, 0).Format("2006-01"), 0, 1, 0, 0, 34_00, 0}},
	} {
		lines, total := costing.Earn(ended, by, time.UTC, usd)
		var got []line
		for _, e := range lines {
			got = append(got, of(e))
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("by %s (-want +got):\n%s", by, diff)
		}
		if diff := cmp.Diff(line{"", 2, 2, 2, 90_00, 41_00, 2 * time.Hour}, of(total)); diff != "" {
			t.Errorf("total by %s (-want +got):\n%s", by, diff)
		}
	}
}
