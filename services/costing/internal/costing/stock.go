package costing

import "tackfree/pkg/money"

// Receive books material that was bought.
func (b *Book) Receive(f Fact, cost money.Amount) {
	b.Post(f.transaction(b.rules.lines("material_bought", Line{}, cost)...))
}

// CorrectLot books by how much a lot had cost more than was known; below zero: less.
func (b *Book) CorrectLot(f Fact, more money.Amount) { b.Receive(f, more) }

// Issue books material that went to a piece, or was lost at a stage of it; below zero: it turns out
// to have cost less.
func (b *Book) Issue(f Fact, cost money.Amount, stageKind string, rework bool) {
	b.Post(f.transaction(b.toPiece(f, cost, stageKind, rework)...))
}

// TakeBack books that an issue came back, all of it or a part: the opposite of issuing as much.
// What has moved on of the issue's cost comes back too, for this is one more cost of the piece,
// below zero.
func (b *Book) TakeBack(f Fact, cost money.Amount, stageKind string, rework bool) {
	b.Issue(f, -cost, stageKind, rework)
}

// Waste books material that was thrown away or lost at no piece; below zero: it turns out to have
// cost less.
func (b *Book) Waste(f Fact, cost money.Amount) {
	b.Post(f.transaction(b.rules.lines("material_wasted", Line{}, cost)...))
}

// Count books what a count found too much; below zero: missing.
func (b *Book) Count(f Fact, found money.Amount) {
	b.Post(f.transaction(b.rules.lines("material_missing", Line{}, -found)...))
}

// toPiece are the lines of material that goes from the shelf to a piece.
func (b *Book) toPiece(f Fact, cost money.Amount, stageKind string, rework bool) []Line {
	rule := "material_used"
	if rework {
		rule = "material_used_again"
	}
	return b.rules.lines(rule, Line{Piece: f.Piece, Stage: f.Stage, StageKind: stageKind, Again: rework}, cost)
}
