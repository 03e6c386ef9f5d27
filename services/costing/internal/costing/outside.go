package costing

import (
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// OutsideWork is work of others on a piece that is out: until it is back, or called off, what
// it will cost is not known.
type OutsideWork struct {
	ID     id.ID
	Piece  id.ID
	Kind   string // upholstery, caning …
	Firm   string
	Quoted *money.Amount // nil: they named no price
}

// open says that it is out.
func (o OutsideWork) open(c money.Currency) string {
	if o.Quoted == nil {
		return fmt.Sprintf("%s by %s is out", o.Kind, o.Firm)
	}
	return fmt.Sprintf("%s by %s is out, quoted %s", o.Kind, o.Firm, c.Format(*o.Quoted))
}

// SendOut notes outside work that is out; its piece's sheet changes by it.
func (b *Book) SendOut(o OutsideWork) {
	b.Out[o.ID] = o
	b.Of(o.Piece)
}

// Back notes that outside work is out no more. Both are told of the piece, so it never comes
// back before it went.
func (b *Book) Back(work, piece id.ID) {
	if _, here := b.Out[work]; here {
		delete(b.Out, work)
	} else {
		b.Returned = append(b.Returned, work)
	}
	b.Of(piece)
}

// Outside lists the work that went out, in one order always.
func (b *Book) Outside() []OutsideWork { return valuesOf(b.Out) }

// Bill books what others billed for their work on a piece, which is owed to them. A bill that
// turned out to be another is the difference, which may be below zero.
func (b *Book) Bill(f Fact, amount money.Amount, rework bool) {
	bucket := Outside
	if rework {
		bucket = Rework
	}
	b.Post(f.transaction(
		Line{Account: WorkInProcess, Bucket: bucket, Piece: f.Piece, Amount: amount},
		Line{Account: AccountsPayable, Piece: f.Piece, Amount: -amount}))
}
