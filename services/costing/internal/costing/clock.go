package costing

import (
	"time"

	"tackfree/pkg/id"
)

// Clock is a clock that runs.
type Clock struct {
	Entry      id.ID
	Piece      id.ID // id.Nil: at none
	Person     id.ID
	PersonName string
	Start      time.Time
}

// Begin notes a clock that runs, and counts it at its piece.
func (b *Book) Begin(c Clock) {
	b.Clocks[c.Entry] = c
	if c.Piece != id.Nil {
		b.Of(c.Piece).Running++
	}
}

// End notes that the clock of an entry runs no more, and counts it at its piece no more;
// id.Nil: it was at none. Both ends of a clock are told of one thing, the piece or the
// person, so an end never comes before its beginning.
func (b *Book) End(entry, piece id.ID) {
	if _, here := b.Clocks[entry]; here {
		delete(b.Clocks, entry)
	} else {
		b.Ended = append(b.Ended, entry)
	}
	if piece != id.Nil {
		b.Of(piece).Running--
	}
}

// Running lists the clocks that began, in one order always.
func (b *Book) Running() []Clock { return valuesOf(b.Clocks) }
