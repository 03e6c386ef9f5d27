package materials_test

import (
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

func TestShelf_StockTooSmall(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "0.5", 4_00)
		b.receive(t, "0.25", 2_00)
		e, err := b.Issue(b.entry(), litres("0.751"))
		if err != nil {
			t.Fatal(err)
		}
		s, err := b.post(e)
		f := fault.Of(err)
		if f == nil || f.Kind != fault.Precondition || f.Reason != "STOCK_TOO_SMALL" || f.Meta["left"] != "0.75 L" || s.Posted != nil || !s.Product.OnHand.Equal(b.OnHand) {
			t.Errorf("%s: Post = %v, %v, want STOCK_TOO_SMALL with 0.75 L left", m, s.Posted, err)
		}
		none := materials.OpenShelf(materials.Product{Unit: of(decimal.Zero, "g").Unit}, m, nil)
		if err := none.Post(e); !fault.Is(err, "STOCK_TOO_SMALL") || fault.Of(err).Meta["left"] != "0 g" {
			t.Errorf("%s: Post on nothing = %v, want 0 g left", m, err)
		}
	}
}

// However a shelf is emptied, what goes out adds up to what was asked, goes through the lots in
// order, and costs in all exactly what the lots cost.
func TestShelf_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := newBench(materials.FirstIn)
		for range rapid.IntRange(1, 5).Draw(t, "lots") {
			b.receive(t, drawAmount(t, 5_000_000).String(), money.Amount(rapid.Int64Range(0, 100_000).Draw(t, "cost")))
		}
		paid := map[id.ID]money.Amount{}
		for b.OnHand.IsPositive() {
			most := b.OnHand.Shift(3).IntPart()
			amount := decimal.New(rapid.Int64Range(max(1, most/8), most).Draw(t, "amount"), -3)
			took := decimal.Zero
			for n, part := range issueInOrder(t, b, amount).Parts {
				if part.Cost > 0 || !part.Quantity.IsNegative() {
					t.Fatalf("part %d took %v for %d", n, part.Quantity, part.Cost)
				}
				took = took.Sub(part.Quantity)
				paid[part.Lot] -= part.Cost
			}
			if !took.Equal(amount) {
				t.Fatalf("the parts took %v, want %v", took, amount)
			}
		}
		for _, l := range b.all() {
			if paid[l.ID] != l.Cost || l.CostLeft != 0 || !l.Left.IsZero() {
				t.Fatalf("lot of %d was paid with %d; %v and %d are left", l.Cost, paid[l.ID], l.Left, l.CostLeft)
			}
		}
	})
}

// issueInOrder takes an amount and checks that no lot is touched before an older one is
// used up.
func issueInOrder(t *rapid.T, b *bench, amount decimal.Decimal) materials.Issue {
	issue := b.issue(t, amount.String())
	for n, part := range issue.Parts {
		if left := b.lots[part.Lot].Left; n < len(issue.Parts)-1 && !left.IsZero() {
			t.Fatalf("%v left in lot %d, but the next was drawn from", left, n)
		}
	}
	first := b.lots[issue.Parts[0].Lot]
	for _, l := range b.lots {
		if l.ReceivedAt.Before(first.ReceivedAt) && !l.Left.IsZero() {
			t.Fatalf("%v left in an older lot than the first drawn from", l.Left)
		}
	}
	return issue
}

// The cost of what went out depends on how much that is, not on how often something went.
func TestShelf_CostIsThatOfTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Int64Range(2, 100_000).Draw(t, "size")
		cost := money.Amount(rapid.Int64Range(0, 1_000_000).Draw(t, "cost"))
		part := rapid.Int64Range(2, size).Draw(t, "part")
		once := newBench(materials.FirstIn)
		once.receive(t, decimal.NewFromInt(size).String(), cost)
		twice := once.clone()
		whole := once.issue(t, decimal.NewFromInt(part).String()).Cost()
		cut := rapid.Int64Range(1, part-1).Draw(t, "cut")
		a, c := twice.issue(t, decimal.NewFromInt(cut).String()).Cost(), twice.issue(t, decimal.NewFromInt(part-cut).String()).Cost()
		if a+c != whole {
			t.Fatalf("%d and %d apart, %d together", a, c, whole)
		}
	})
}
