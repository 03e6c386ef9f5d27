package costing

import (
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// OutsideWork is work of others on a piece whose cost is not known yet: it is out, or back and
// its bill is yet to come.
type OutsideWork struct {
	ID       id.ID
	Piece    id.ID
	Kind     string // upholstery, caning …
	Firm     string
	Quoted   *money.Amount // nil: they named no price
	Unbilled bool          // it is back
}

// Await notes outside work whose cost is not known yet; its piece's sheet changes by it.
func (b *Book) Await(o OutsideWork) {
	b.Out[o.ID] = o
	b.Of(o.Piece)
}

// SettleOut notes that the cost of outside work is known. All is told of the piece, so that is
// never before it went.
func (b *Book) SettleOut(work, piece id.ID) {
	delete(b.Out, work)
	b.SettledOut = append(b.SettledOut, work)
	b.Of(piece)
}

// Outside lists the work whose cost is not known yet, in one order always.
func (b *Book) Outside() []OutsideWork { return valuesOf(b.Out) }

// Bill books what others billed for their work on a piece, which is owed to them. A bill that
// turned out to be another is the difference, which may be below zero.
func (b *Book) Bill(f Fact, amount money.Amount, rework bool) {
	rule := "outside_work"
	if rework {
		rule = "outside_work_again"
	}
	b.Post(f.transaction(b.rules.lines(rule, Line{Piece: f.Piece, Stage: f.Stage, Again: rework}, amount)...))
}
