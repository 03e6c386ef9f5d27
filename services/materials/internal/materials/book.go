package materials

import (
	"slices"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Book is what a product's stock is and cost, after entries in the order of their time.
type Book struct {
	Method Method
	OnHand decimal.Decimal
	Value  money.Amount // of what is on hand
	Last   Worth        // of what came in last
	lots   []*Lot       // in the order in which they go out
	outs   map[id.ID][]*taken
}

// Worth is what an amount cost.
type Worth struct {
	Quantity decimal.Decimal
	Cost     money.Amount
}

// taken is what went out of a lot in one entry, and how much of it came back.
type taken struct {
	lot                *Lot
	quantity, returned decimal.Decimal
	cost, credited     money.Amount
}

// NewBook is a book with nothing in it.
func NewBook(m Method) *Book { return &Book{Method: m, outs: map[id.ID][]*taken{}} }

// Post adds an entry that is not before any other. Faults: STOCK_TOO_SMALL, LOT_EXPIRED,
// LOT_CLOSED, LOT_NOT_FOUND, LOT_WAS_FOUND, RETURN_TOO_LARGE, COST_BELOW_ZERO.
func (b *Book) Post(e Entry) (p Posted, err error) {
	p.Entry = e
	switch e.Kind {
	case CameIn:
		p.Parts = b.comeIn(e, e.Lot, e.Quantity, e.Cost)
	case WentOut:
		p.Parts, err = b.goOut(e, e.Quantity)
	case CameBack:
		p.Parts, err = b.comeBack(e)
	case Tallied:
		p.Parts, err = b.count(e)
	case Split:
		p.Parts, err = b.split(e)
	case Moved, Closed:
		err = b.mark(e)
	case CostAdded:
		p.Parts, err = b.addCost(e)
	}
	for _, part := range p.Parts {
		b.OnHand, b.Value = b.OnHand.Add(part.Quantity), b.Value+part.Cost
	}
	return p, err
}

// find gives a lot. Fault: LOT_NOT_FOUND.
func (b *Book) find(lot id.ID) (*Lot, error) {
	n := slices.IndexFunc(b.lots, func(l *Lot) bool { return l.ID == lot })
	if n < 0 {
		return nil, lotNotFound
	}
	return b.lots[n], nil
}

// insert puts a lot where it is in the order of going out.
func (b *Book) insert(l *Lot) {
	at, _ := slices.BinarySearchFunc(b.lots, l, func(a, b *Lot) int { return firstIn(*a, *b) })
	b.lots = slices.Insert(b.lots, at, l)
}

// comeIn makes a lot.
func (b *Book) comeIn(e Entry, lot id.ID, q decimal.Decimal, cost money.Amount) []Part {
	l := &Lot{ID: lot, Root: lot, Quantity: q, Left: q, Cost: cost, CostLeft: cost, ReceivedAt: e.At, Expires: e.Expires,
		Opened: e.Opened, Place: e.Place, Mix: e.Mix, Supplier: e.Supplier, Code: e.Code}
	if b.Method == Average {
		l.CostLeft = 0
	}
	b.insert(l)
	b.Last = Worth{q, cost}
	return []Part{{l.ID, q, cost}}
}

// count finds more or less than the book says, of one lot or of all.
func (b *Book) count(e Entry) ([]Part, error) {
	have, shut := b.OnHand, false
	if e.Lot != id.Nil {
		l, err := b.find(e.Lot)
		if err != nil {
			return nil, err
		}
		have, shut, e = l.Left, l.Closed, e.like(l)
	} else if l := b.first(e); l != nil {
		e = e.like(l)
	}
	more := e.Quantity.Sub(have)
	switch more.Sign() {
	case 0:
		return nil, nil
	case 1:
		last := b.Last
		parts := b.comeIn(e, e.Into, more, b.worth(more))
		b.Last = last
		found, err := b.find(e.Into)
		if err == nil {
			found.Closed = shut
		}
		return parts, err
	}
	e.Takes = Anything
	return b.goOut(e, more.Neg())
}

// like makes what was found what a lot is: as old, at its place, of its mix.
func (e Entry) like(l *Lot) Entry {
	e.Expires, e.Opened, e.Place, e.Mix, e.Supplier, e.Code = l.Expires, l.Opened, l.Place, l.Mix, l.Supplier, l.Code
	return e
}

// first is the lot that goes out next, be it one that may not be used where there is no other; nil:
// nothing is there.
func (b *Book) first(e Entry) (unfit *Lot) {
	for _, l := range b.lots {
		switch {
		case !l.Left.IsPositive():
		case l.serves(e):
			return l
		case unfit == nil:
			unfit = l
		}
	}
	return unfit
}

// Repost posts what was noted before, though something noted since may have changed the lot that it
// names: who took from a lot of which there was less after all took from the others, and what was
// done to a lot that never was is nothing. Faults: as Post.
func (b *Book) Repost(e Entry) (Posted, error) {
	p, err := b.Post(e)
	if err == nil || e.Lot == id.Nil {
		return p, err
	}
	switch e.Kind {
	case WentOut:
		unnamed := e
		unnamed.Lot = id.Nil
		p, err = b.Post(unnamed)
		p.Entry = e
	case Split, Moved, Closed, Tallied:
		p, err = Posted{Entry: e}, nil
	}
	return p, err
}

// worth is what an amount that was found costs: as what is there does, or else as what came in
// last did; nothing when nothing ever came.
func (b *Book) worth(q decimal.Decimal) money.Amount {
	switch {
	case b.OnHand.IsPositive():
		return portion(b.Value, q, b.OnHand)
	case b.Last.Quantity.IsPositive():
		return portion(b.Last.Cost, q, b.Last.Quantity)
	}
	return 0
}
