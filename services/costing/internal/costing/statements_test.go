package costing_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// Whatever happens in the shop, in whatever order and dated however, at each instant debits are credits,
// and what is owned is what is owed and earned.
func TestBook_TrialBalance_AtEachInstant(t *testing.T) {
	chart := costing.Standard()
	rapid.Check(t, func(t *rapid.T) {
		long := monday.AddDate(-1, 0, 0)
		rates := []costing.OverheadRate{overhead("", 12_34, long, long), machine("booth", 17_77, long, long, "topcoat_coat")}
		terms := costing.NewTerms([]costing.Rate{rate(19_99, long, long)}, []costing.Burden{burden(id.Nil, 76_500, long, long)}, rates)
		j, pieces := &journal{}, []id.ID{id.New(), id.New(), id.New()}
		var instants []time.Time
		b := j.keep(func(b *costing.Book) {
			for range rapid.IntRange(1, 20).Draw(t, "things") {
				f := fact(rapid.SampledFrom(pieces).Draw(t, "piece"))
				f.OccurredAt = at(time.Month(rapid.IntRange(1, 3).Draw(t, "month")), rapid.IntRange(1, 28).Draw(t, "day"), 12, 0)
				instants = append(instants, f.OccurredAt)
				amount, again := money.Amount(rapid.Int64Range(0, 99_999).Draw(t, "amount")), rapid.Bool().Draw(t, "again")
				switch rapid.IntRange(0, 7).Draw(t, "what") {
				case 0:
					b.TakeIn(f, amount)
				case 1:
					b.Issue(f, amount, "sand", again)
				case 2:
					b.Bill(f, amount, again)
				case 3:
					b.Sell(f, amount, amount/12, amount/10)
				case 4:
					b.Refund(f, amount, amount/12, amount/10, again)
				case 5:
					b.Scrap(f)
				case 6:
					b.SpendOverhead(costing.OverheadActual{ID: f.ID, At: f.OccurredAt, Amount: amount})
				default:
					b.Work(costing.Stretch{Fact: f, Sign: 1, Entry: id.New(), Person: nell, Stage: id.From(f.Piece), Rework: again,
						StageKind: rapid.SampledFrom([]string{"sand", "topcoat_coat"}).Draw(t, "kind"), Start: f.OccurredAt.Add(-time.Hour), End: f.OccurredAt}, terms)
				}
			}
			settleMachines(b, nil, nil, rates)
			place(b)
		})
		if err := b.Check(); err != nil {
			t.Fatal(err)
		}
		for m := time.Month(1); m <= 3; m++ {
			if _, _, err := j.shut(monthOf(m), costing.ToSold, rapid.Bool().Draw(t, "with labour on no piece")); err != nil {
				t.Fatal(err)
			}
			instants = append(instants, monthOf(m).To)
		}
		for _, instant := range instants {
			balances := j.between(time.Time{}, instant)
			if trial := chart.Trial(balances); trial.Debit != trial.Credit {
				t.Fatalf("at %s debits are %d, credits %d", instant, trial.Debit, trial.Credit)
			}
			if p := chart.Position(balances); p.Assets.Total != p.Liabilities.Total+p.Earned {
				t.Fatalf("at %s %d is owned, %d owed and %d earned", instant, p.Assets.Total, p.Liabilities.Total, p.Earned)
			}
		}
	})
}
