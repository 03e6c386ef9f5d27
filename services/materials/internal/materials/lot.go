package materials

import (
	"cmp"
	"math/big"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Lot is what came in at one time and at one cost, or a part of it that was opened or moved by
// itself. Amounts are in the product's unit.
type Lot struct {
	ID             id.ID
	Root           id.ID // the lot that came in, of which it is a part; its own id: it came in
	Quantity, Left decimal.Decimal
	Cost, CostLeft money.Amount // by the moving average nothing is left of a lot's own cost
	ReceivedAt     time.Time    // when its root came in
	Expires        time.Time    // zero: nobody knows
	Opened, Closed bool
	Place          id.ID
	Mix            id.ID
	Supplier       string
	Code           string // the maker's number on the can
}

// equal says whether nothing of a lot changed.
func (l Lot) equal(o Lot) bool {
	a, b := l, o
	a.Quantity, a.Left, b.Quantity, b.Left = decimal.Zero, decimal.Zero, decimal.Zero, decimal.Zero
	return l.Quantity.Equal(o.Quantity) && l.Left.Equal(o.Left) && a == b
}

// gone says whether there never was such a lot, after all that was written down since.
func (l Lot) gone() bool { return l.Quantity.IsZero() }

// serves says whether what goes out may be from the lot.
func (l Lot) serves(e Entry) bool {
	switch {
	case e.Lot != id.Nil && e.Lot != l.ID:
		return false
	case e.Takes == Anything:
		return true
	case l.Closed:
		return false
	}
	return e.Takes == Expired || l.Expires.IsZero() || e.At.Before(l.Expires)
}

// take takes a part of what is left and says what it cost. The cost of all that was ever taken
// from a lot is rounded, never that of a single part; so the parts of a lot add up to its cost,
// however many they are.
//
// That holds also after something came back. Cost is never made or lost: it moves between a lot
// and its parts, so what is left and the parts that stand always cost the whole lot together;
// and nothing left is due nothing, so when the lot is used up the parts that stand have cost
// exactly it. On the way, what is left can cost a little more or less than is due, since what
// came back had been rounded elsewhere. If more, the next part takes the difference along. If
// less, the next parts cost less, at least nothing, until the lot has come down to what is due.
// So a part is off its exact share by at most one minor unit, and two for each time that
// something came back into the lot.
func (l *Lot) take(q decimal.Decimal) money.Amount {
	before := l.CostLeft
	l.Left = l.Left.Sub(q)
	l.CostLeft = min(l.CostLeft, l.due(l.Left))
	return before - l.CostLeft
}

// due is what an amount left of the lot costs when the total of what was taken is rounded.
func (l *Lot) due(left decimal.Decimal) money.Amount {
	return l.Cost - portion(l.Cost, l.Quantity.Sub(left), l.Quantity)
}

// portion is the cost of a part, when the whole of an amount has a cost.
func portion(cost money.Amount, part, whole decimal.Decimal) money.Amount {
	share := new(big.Rat).Quo(part.Rat(), whole.Rat())
	return money.Round(share.Mul(share, new(big.Rat).SetInt64(int64(cost))))
}

// firstIn orders lots by when their roots came in and were written down; of the parts of one
// those that were opened are used first.
func firstIn(a, b Lot) int {
	return cmp.Or(a.ReceivedAt.Compare(b.ReceivedAt), id.Compare(a.Root, b.Root), cmp.Compare(unopened(a), unopened(b)), id.Compare(a.ID, b.ID))
}

func unopened(l Lot) int {
	if l.Opened {
		return 0
	}
	return 1
}
