package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func marks(t *testing.T, db *pg.DB, pieces ...id.ID) []costing.Mark {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Mark, error) { return st.Marks(ctx, pieces) })
}

func balances(t *testing.T, db *pg.DB) []ledger.Balance {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]ledger.Balance, error) { return st.Balances(ctx) })
}

// Marks are those of the pieces asked for, by their events.
func TestStore_Marks(t *testing.T) {
	db, piece, other, third := setup(t), id.New(), id.New(), id.New()
	sold, scrapped, returned := costing.Mark{Fact: fact(piece), Kind: costing.MarkSold},
		costing.Mark{Fact: fact(other), Kind: costing.MarkScrapped}, costing.Mark{Fact: fact(piece), Kind: costing.MarkReturned}
	foreign := costing.Mark{Fact: fact(third), Kind: costing.MarkSold}
	save(t, db, func(b *costing.Book) { b.Marks = []costing.Mark{foreign, returned, scrapped, sold} })
	same(t, "of one", []costing.Mark{sold, returned}, marks(t, db, piece))
	same(t, "of two", []costing.Mark{sold, scrapped, returned}, marks(t, db, other, piece))
	same(t, "of a stranger", []costing.Mark{}, marks(t, db, id.New()))
	same(t, "of none", []costing.Mark{}, marks(t, db))
}

// What went into a piece counts, by when and where it stands in process, below zero too; what only
// moved on, came to nothing or is of another kind does not.
func TestStore_Costs(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	bought, issued, again, more, elsewhere := fact(piece), fact(piece), fact(piece), fact(piece), fact(other)
	more.OccurredAt = longAgo
	save(t, db, func(b *costing.Book) {
		b.Issue(again, 12_50, "prime", true)
		b.Issue(issued, 3_00, "prime", false)
		b.TakeBack(more, 2_00, "prime", false)
		b.TakeIn(fact(piece), 0)
		b.TakeIn(bought, 45_50)
		b.TakeIn(elsewhere, 9_00)
		b.Receive(fact(id.Nil), 30_00)
		b.Sell(fact(piece), 300_00, 24_00, 15_00)
		b.Settle(costing.Group{Kind: costing.Place, ID: piece}, costing.Cause{ID: id.New()}, nil, []costing.Dated{
			{At: noon, Line: costing.Line{Account: "cost_of_goods_sold", Piece: piece, Amount: 45_50}},
			{At: noon, Line: costing.Line{Account: costing.WorkInProcess, Piece: piece, Amount: -45_50}}})
	})
	want := []costing.Cost{
		{Piece: piece, Account: costing.WorkInProcess, OccurredAt: longAgo, Amount: -2_00},
		{Piece: piece, Account: costing.Again, OccurredAt: noon, Amount: 12_50},
		{Piece: piece, Account: costing.WorkInProcess, OccurredAt: noon, Amount: 48_50},
	}
	same(t, "of one", want, costs(t, db, piece))
	same(t, "of two", append(want, costing.Cost{Piece: other, Account: costing.WorkInProcess, OccurredAt: noon, Amount: 9_00}), costs(t, db, other, piece))
	same(t, "of a stranger", []costing.Cost{}, costs(t, db, id.New()))
	same(t, "of none", []costing.Cost{}, costs(t, db))
}

// A shop's month, by account: every balance is the sum of what was put there, and all of
// them together come to nothing.
func TestStore_Balances(t *testing.T) {
	db, sold, scrapped := setup(t), id.New(), id.New()
	same(t, "of empty books", []ledger.Balance{}, balances(t, db))
	nell := hand(t, db, "Nell", 18_00)
	save(t, db, func(b *costing.Book) {
		b.TakeIn(fact(sold), 45_50)
		b.TakeIn(fact(scrapped), 8_00)
		b.Receive(fact(id.Nil), 60_00)
		b.Issue(fact(sold), 12_50, "prime", false)
	})
	save(t, db, func(b *costing.Book) {
		b.Work(nell.on(sold, 90*time.Minute), nell.terms)
		b.Sell(fact(sold), 300_00, 24_00, 15_00)
		b.Refund(fact(sold), 50_00, 4_00, 0, false)
	})
	const wages = 18_00 * 90 / 60
	want := []ledger.Balance{
		{Account: "cash_clearing", Amount: -45_50 - 8_00 - 60_00 + (300_00 + 24_00 - 15_00) - (50_00 + 4_00)},
		{Account: "channel_fees", Amount: 15_00},
		{Account: "materials_on_hand", Amount: 60_00 - 12_50},
		{Account: "revenue", Amount: -(300_00 - 50_00)},
		{Account: "tax_payable", Amount: -(24_00 - 4_00)},
		{Account: costing.WagesPayable, Amount: -wages},
		{Account: costing.WorkInProcess, Amount: 45_50 + 8_00 + 12_50 + wages}, // the store moves nothing on
	}
	got := balances(t, db)
	same(t, "balances", want, got)
	var sum money.Amount
	for _, b := range got {
		sum += b.Amount
	}
	if sum != 0 {
		t.Errorf("the accounts come to %d, want 0", sum)
	}
}

// The balances are the ledger's lines added up, and sheet and ledger say the same of a piece.
func TestStore_Balances_AreTheLines(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 17_77)
	save(t, db, func(b *costing.Book) {
		b.TakeIn(fact(piece), 3)
		for n := range 50 {
			b.Work(nell.on(piece, time.Duration(n*n)*time.Second), nell.terms)
			b.Issue(fact(piece), money.Amount(n*n*n), "fill", n%3 == 0)
		}
	})
	sums := map[string]money.Amount{}
	for _, l := range postings(t, db) {
		sums[l.Account] += money.Amount(l.Amount)
	}
	for _, b := range balances(t, db) {
		if b.Amount != sums[string(b.Account)] {
			t.Errorf("%s = %d, want %d", b.Account, b.Amount, sums[string(b.Account)])
		}
	}
	got := sheet(t, db, piece)
	if in := sums[string(costing.WorkInProcess)] + sums[string(costing.Again)]; got.Cost() != in {
		t.Errorf("the sheet's cost is %d, the ledger's %d", got.Cost(), in)
	}
	if got.Work[0].Time != got.LabourTime || got.Work[0].Cost != got.Labour {
		t.Errorf("the sheet says %+v, its work %+v", got.Sums, got.Work)
	}
}
