package costing_test

import (
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// Material that was taken back leaves every account and the sheet as if it had never been
// issued, whatever else became of the piece, and whether that was before or afterwards.
func TestBook_TakeBack_AsIfItHadNotBeen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		piece := id.New()
		with, without := costing.NewBook(costing.Standard()), costing.NewBook(costing.Standard())
		both := func(do func(*costing.Book)) { do(with); do(without) }
		for range rapid.IntRange(1, 8).Draw(t, "events") {
			amount, rework := money.Amount(rapid.Int64Range(0, 10_000).Draw(t, "amount")), rapid.Bool().Draw(t, "rework")
			f := fact(piece)
			switch rapid.IntRange(0, 4).Draw(t, "event") {
			case 0:
				both(func(b *costing.Book) { b.Issue(f, amount, "sand", rework) })
			case 1:
				both(func(b *costing.Book) { b.Sell(f, amount, 0, 0) })
			case 2:
				both(func(b *costing.Book) { b.Refund(f, amount, 0, 0, true) })
			case 3:
				both(func(b *costing.Book) { b.Scrap(f) })
			default:
				with.Issue(f, amount, "sand", rework)
				with.TakeBack(fact(piece), amount, "sand", rework)
			}
		}
		both(func(b *costing.Book) {
			place(b)
			if err := b.Check(); err != nil {
				t.Fatal(err)
			}
		})
		for _, a := range []costing.Account{"materials_on_hand", costing.WorkInProcess, costing.Again, "cost_of_goods_sold", "scrap_loss", "revenue"} {
			if got, want := balance(with, a), balance(without, a); got != want {
				t.Fatalf("%s = %d, want %d", a, got, want)
			}
		}
		if got, want := with.Of(piece).Sums, without.Of(piece).Sums; got != want {
			t.Fatalf("sums = %+v, want %+v", got, want)
		}
	})
}
