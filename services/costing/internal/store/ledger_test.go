package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func marks(t *testing.T, db *pg.DB, pieces ...id.ID) []costing.Mark {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Mark, error) { return st.Marks(ctx, pieces) })
}

func balances(t *testing.T, db *pg.DB) []store.Balance {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) ([]store.Balance, error) { return st.Balances(ctx) })
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

// What went into work in process counts, by transaction and below zero too; what only
// moved on, came to nothing or stands in another account does not.
func TestStore_Costs(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	bought, free, issued, taken, elsewhere := fact(piece), fact(piece), fact(piece), fact(piece), fact(other)
	taken.OccurredAt, taken.RecordedAt = longAgo, noon.Add(time.Hour)
	save(t, db, func(b *costing.Book) {
		b.TakeBack(taken, 12_50, "prime", true)
		b.Issue(issued, 12_50, "prime", true)
		b.TakeIn(free, 0)
		b.TakeIn(bought, 45_50)
		b.TakeIn(elsewhere, 9_00)
		b.Receive(fact(id.Nil), 30_00)
		b.Sell(fact(piece), 300_00, 24_00, 15_00)
		b.Post(costing.Close(costing.Move{Fact: fact(piece), To: costing.CostOfGoodsSold, Sign: 1}, costing.Cost{Tx: bought.ID, Piece: piece, Amount: 45_50}))
	})
	cost := func(f costing.Fact, amount money.Amount) costing.Cost {
		return costing.Cost{Tx: f.ID, Piece: f.Piece, OccurredAt: f.OccurredAt, RecordedAt: f.RecordedAt, Amount: amount}
	}
	want := []costing.Cost{cost(bought, 45_50), cost(issued, 12_50), cost(taken, -12_50)}
	same(t, "of one", want, costs(t, db, piece))
	same(t, "of two", append(want, cost(elsewhere, 9_00)), costs(t, db, other, piece))
	same(t, "of a stranger", []costing.Cost{}, costs(t, db, id.New()))
	same(t, "of none", []costing.Cost{}, costs(t, db))
}

// A shop's month, by account: every balance is the sum of what was put there, and all of
// them together come to nothing.
func TestStore_Balances(t *testing.T) {
	db, sold, scrapped := setup(t), id.New(), id.New()
	same(t, "of empty books", []store.Balance{}, balances(t, db))
	nell := hand(t, db, "Nell", 18_00)
	save(t, db, func(b *costing.Book) {
		b.TakeIn(fact(sold), 45_50)
		b.TakeIn(fact(scrapped), 8_00)
		b.Receive(fact(id.Nil), 60_00)
		b.Issue(fact(sold), 12_50, "prime", false)
	})
	save(t, db, func(b *costing.Book) {
		b.Work(nell.on(sold, 90*time.Minute), nell.rates)
		b.Sell(fact(sold), 300_00, 24_00, 15_00)
		b.Refund(fact(sold), 50_00, 4_00, 0, false)
		for _, c := range b.Costs() {
			b.Post(costing.Close(costing.Move{Fact: fact(sold), To: costing.CostOfGoodsSold, Sign: 1}, c))
		}
		loss := costing.Move{Fact: fact(scrapped), To: costing.ScrapLoss, Sign: 1}
		b.Post(costing.Close(loss, costing.Cost{Tx: id.New(), Piece: scrapped, Amount: 8_00}))
	})
	const wages = 18_00 * 90 / 60
	want := []store.Balance{
		{Account: costing.CashClearing, Amount: -45_50 - 8_00 - 60_00 + (300_00 + 24_00 - 15_00) - (50_00 + 4_00)},
		{Account: costing.ChannelFees, Amount: 15_00},
		{Account: costing.CostOfGoodsSold, Amount: wages},
		{Account: costing.MaterialsOnHand, Amount: 60_00 - 12_50},
		{Account: costing.Revenue, Amount: -(300_00 - 50_00)},
		{Account: costing.ScrapLoss, Amount: 8_00},
		{Account: costing.TaxPayable, Amount: -(24_00 - 4_00)},
		{Account: costing.WagesPayable, Amount: -wages},
		{Account: costing.WorkInProcess, Amount: 45_50 + 12_50}, // the second book knows of the wages alone
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
			b.Work(nell.on(piece, time.Duration(n*n)*time.Second), nell.rates)
			b.Issue(fact(piece), money.Amount(n*n*n), "fill", n%3 == 0)
		}
	})
	sums := map[string]money.Amount{}
	for _, l := range ledger(t, db) {
		sums[l.Account] += money.Amount(l.Amount)
	}
	for _, b := range balances(t, db) {
		if b.Amount != sums[string(b.Account)] {
			t.Errorf("%s = %d, want %d", b.Account, b.Amount, sums[string(b.Account)])
		}
	}
	got := sheet(t, db, piece)
	if in := sums[string(costing.WorkInProcess)]; got.Cost() != in {
		t.Errorf("the sheet's cost is %d, the ledger's %d", got.Cost(), in)
	}
	if got.Work[0].Time != got.LabourTime || got.Work[0].Cost != got.Labour {
		t.Errorf("the sheet says %+v, its work %+v", got.Sums, got.Work)
	}
}
