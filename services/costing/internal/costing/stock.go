package costing

import (
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Receive books material that was bought.
func (b *Book) Receive(f Fact, cost money.Amount) {
	b.Post(f.transaction(
		Line{Account: MaterialsOnHand, Amount: cost},
		Line{Account: CashClearing, Amount: -cost}))
}

// CorrectLot books by how much a lot had cost more than was known; below zero: less.
func (b *Book) CorrectLot(f Fact, more money.Amount) { b.Receive(f, more) }

// Issue books material that went to a piece, or was lost at a stage of it.
func (b *Book) Issue(f Fact, cost money.Amount, stageKind string, rework bool) {
	b.Post(f.transaction(toPiece(f.Piece, cost, stageKind, rework)...))
}

// TakeBack books that an issue came back, all of it or a part: the opposite of issuing as much.
// What has moved on of the issue's cost comes back too, for this is one more cost of the piece,
// below zero.
func (b *Book) TakeBack(f Fact, cost money.Amount, stageKind string, rework bool) {
	b.Issue(f, -cost, stageKind, rework)
}

// Recost books that an entry of stock, something that went to a piece or came back from it, costs
// the piece more than was known; below zero: less. A fact recosts several entries, so each has a
// transaction of its own, which moves on by itself when the piece is sold.
func (b *Book) Recost(f Fact, entry id.ID, more money.Amount, stageKind string, rework bool) {
	b.Post(f.about(entry, toPiece(f.Piece, more, stageKind, rework)...))
}

// Waste books material that was thrown away or lost at no piece.
func (b *Book) Waste(f Fact, cost money.Amount) {
	b.Post(f.transaction(lost(OverheadActual, cost)...))
}

// Count books what a count found too much; below zero: missing.
func (b *Book) Count(f Fact, found money.Amount) {
	b.Post(f.transaction(lost(InventoryAdjustments, -found)...))
}

// RecostWaste books that waste at no piece took more from the stock than was known; below zero: less.
func (b *Book) RecostWaste(f Fact, entry id.ID, more money.Amount) {
	b.Post(f.about(entry, lost(OverheadActual, more)...))
}

// RecostCount books that a count took more from the stock than was known; below zero: less.
func (b *Book) RecostCount(f Fact, entry id.ID, more money.Amount) {
	b.Post(f.about(entry, lost(InventoryAdjustments, more)...))
}

// about begins the transaction of one of the several entries that a fact tells of.
func (f Fact) about(entry id.ID, lines ...Line) Transaction {
	t := f.transaction(lines...)
	t.ID = id.From(f.ID, entry)
	return t
}

// toPiece are the lines of material that goes from the shelf to a piece.
func toPiece(piece id.ID, cost money.Amount, stageKind string, rework bool) []Line {
	bucket := Material
	if rework {
		bucket = Rework
	}
	return []Line{
		{Account: WorkInProcess, Bucket: bucket, Piece: piece, StageKind: stageKind, Amount: cost},
		{Account: MaterialsOnHand, Piece: piece, Amount: -cost},
	}
}

// lost are the lines of material that leaves the shelf and is no cost of a piece.
func lost(to Account, cost money.Amount) []Line {
	return []Line{{Account: to, Amount: cost}, {Account: MaterialsOnHand, Amount: -cost}}
}
