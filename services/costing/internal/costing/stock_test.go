package costing_test

import (
	"maps"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// Each thing that happens to stock moves its cost between two accounts, and only what a piece got
// or gave back is on its sheet.
func TestBook_Stock(t *testing.T) {
	piece, entry := id.New(), id.New()
	about := func(piece id.ID) costing.Fact { return fact(piece).Of(entry, monday) }
	const onHand, inWork, again, cash, overhead, counts = "materials_on_hand", costing.WorkInProcess, costing.Again, "cash_clearing", "overhead_actual", "inventory_adjustments"
	type accounts map[costing.Account]money.Amount
	for name, c := range map[string]struct {
		do               func(*costing.Book)
		want             accounts
		material, rework money.Amount
	}{
		"Received":         {func(b *costing.Book) { b.Receive(fact(id.Nil), 100) }, accounts{onHand: 100, cash: -100}, 0, 0},
		"ALotCostMore":     {func(b *costing.Book) { b.CorrectLot(fact(id.Nil), 7) }, accounts{onHand: 7, cash: -7}, 0, 0},
		"ALotCostLess":     {func(b *costing.Book) { b.CorrectLot(fact(id.Nil), -7) }, accounts{onHand: -7, cash: 7}, 0, 0},
		"Issued":           {func(b *costing.Book) { b.Issue(fact(piece), 40, "paint_coat", false) }, accounts{inWork: 40, onHand: -40}, 40, 0},
		"IssuedForRework":  {func(b *costing.Book) { b.Issue(fact(piece), 40, "paint_coat", true) }, accounts{again: 40, onHand: -40}, 0, 40},
		"CameBack":         {func(b *costing.Book) { b.TakeBack(fact(piece), 9, "paint_coat", false) }, accounts{inWork: -9, onHand: 9}, -9, 0},
		"PieceCostsMore":   {func(b *costing.Book) { b.Issue(about(piece), 3, "paint_coat", false) }, accounts{inWork: 3, onHand: -3}, 3, 0},
		"ReworkCostsLess":  {func(b *costing.Book) { b.Issue(about(piece), -3, "paint_coat", true) }, accounts{again: -3, onHand: 3}, 0, -3},
		"Wasted":           {func(b *costing.Book) { b.Waste(fact(id.Nil), 5) }, accounts{overhead: 5, onHand: -5}, 0, 0},
		"WasteCostsLess":   {func(b *costing.Book) { b.Waste(about(id.Nil), -2) }, accounts{overhead: -2, onHand: 2}, 0, 0},
		"CountFindsLess":   {func(b *costing.Book) { b.Count(fact(id.Nil), -6) }, accounts{counts: 6, onHand: -6}, 0, 0},
		"CountFindsMore":   {func(b *costing.Book) { b.Count(fact(id.Nil), 6) }, accounts{counts: -6, onHand: 6}, 0, 0},
		"CountTookMore":    {func(b *costing.Book) { b.Count(about(id.Nil), -4) }, accounts{counts: 4, onHand: -4}, 0, 0},
		"WhatIsOfNoAmount": {func(b *costing.Book) { b.Waste(fact(id.Nil), 0) }, accounts{overhead: 0, onHand: 0}, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			b := costing.NewBook(costing.Standard())
			c.do(b)
			got := accounts{}
			for _, l := range b.Transactions[0].Lines {
				got[l.Account] += l.Amount
			}
			if err := b.Check(); err != nil || !maps.Equal(got, c.want) {
				t.Errorf("accounts = %v, %v, want %v", got, err, c.want)
			}
			if s := b.Of(piece).Sums; s.Material != c.material || s.Rework != c.rework || s.Cost() != c.material+c.rework {
				t.Errorf("sheet = %+v, want %d of material and %d of rework", s, c.material, c.rework)
			}
		})
	}
}

// A fact that recosts two entries of a sold piece has a cost for each, in a transaction of its own, as
// of when the entry happened.
func TestBook_EachEntryIsACost(t *testing.T) {
	b, piece, early, late := costing.NewBook(costing.Standard()), id.New(), monday.AddDate(0, 0, -9), monday.AddDate(0, 0, -2)
	f := fact(piece)
	b.Issue(f.Of(id.New(), early), 30, "paint_coat", false)
	b.Issue(f.Of(id.New(), late), -5, "paint_coat", false)
	if a, z := b.Transactions[0], b.Transactions[1]; !a.OccurredAt.Equal(early) || !z.OccurredAt.Equal(late) || a.Event != f.ID || z.Event != f.ID {
		t.Errorf("they count from %s and %s, want %s and %s", a.OccurredAt, z.OccurredAt, early, late)
	}
	b.Sell(fact(piece), 1, 0, 0)
	place(b)
	names := map[id.ID]bool{}
	for _, tx := range b.Transactions {
		names[tx.ID] = true
	}
	if len(names) != 4 || len(b.Transactions) != 4 {
		t.Errorf("%d transactions of %d names, want two costs, a sale and a move", len(b.Transactions), len(names))
	}
	if got := balance(b, "cost_of_goods_sold"); got != 25 || balance(b, costing.WorkInProcess) != 0 {
		t.Errorf("cost of goods sold = %d, want 25", got)
	}
}
