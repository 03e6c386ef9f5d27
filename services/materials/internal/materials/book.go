package materials

import (
	"bytes"
	"cmp"
	"math/big"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Method is how a shop counts what its stock cost. It is chosen once.
type Method string

// The methods.
const (
	FirstIn Method = "first_in_first_out" // what came first goes first, at what it cost
	Average Method = "moving_average"     // all that is there costs the same
)

// EntryKind is what happened to stock.
type EntryKind string

// The kinds of entries.
const (
	CameIn    EntryKind = "came_in"    // a delivery: it makes a lot, at a cost
	Found     EntryKind = "found"      // a count found more than was known: a lot too, at the cost of what is there
	WentOut   EntryKind = "went_out"   // to a piece, into a mix, wasted, or missing at a count
	CameBack  EntryKind = "came_back"  // a part of what went out, at what it went out for
	CostAdded EntryKind = "cost_added" // a lot cost more or less than was known: freight, a discount, a wrong price
)

// Entry is one thing that came or went of a product, in its unit. What it cost is not in it but
// in the book, for what is written down late changes what came after it.
type Entry struct {
	ID       id.ID
	Kind     EntryKind
	At       time.Time
	Quantity decimal.Decimal // above zero; of an added cost zero
	Cost     money.Amount    // of what came in, or was added
	Lot      id.ID           // that it makes or is of; of what went out the one it must be from, or id.Nil
	Of       id.ID           // what came back of
	Expires  time.Time       // of the lot that it makes; zero: never
	Stale    bool            // it may be from lots that have expired
}

// before orders entries by their time; of one instant what came in is first and then what it
// cost more, the others are as they were written down.
func (e Entry) before(o Entry) int {
	return cmp.Or(e.At.Compare(o.At), cmp.Compare(e.rank(), o.rank()), bytes.Compare(e.ID[:], o.ID[:]))
}

func (e Entry) rank() int {
	switch e.Kind {
	case CameIn:
		return 0
	case CostAdded:
		return 1
	}
	return 2
}

// Part is how much of an entry was of one lot, and at what cost; below zero what went out.
type Part struct {
	Lot      id.ID
	Quantity decimal.Decimal
	Cost     money.Amount
}

// Posted is an entry as it is in the book.
type Posted struct {
	Entry
	Parts []Part
}

// Total is what the entry is worth; below zero what went out.
func (p Posted) Total() (sum money.Amount) {
	for _, part := range p.Parts {
		sum += part.Cost
	}
	return sum
}

// Book is what a product's stock is and cost, after entries in the order of their time.
type Book struct {
	Method Method
	OnHand decimal.Decimal
	Value  money.Amount // of what is on hand
	lots   []*layer     // in the order in which they go out
	outs   map[id.ID][]*taken
	last   Lot // that came in last
}

// layer is a lot with when it expires.
type layer struct {
	Lot
	expires time.Time
}

// taken is what went out of a lot in one entry, and how much of it came back.
type taken struct {
	lot                *layer
	quantity, returned decimal.Decimal
	cost, credited     money.Amount
}

// Replay posts entries in the order of their time, whatever order they are given in; so the
// costs of a set of entries are the same in whichever order they were written down. Faults: as
// Post.
func Replay(m Method, entries []Entry) (*Book, []Posted, error) {
	b, all := &Book{Method: m}, make([]Posted, 0, len(entries))
	for _, e := range slices.SortedFunc(slices.Values(entries), Entry.before) {
		posted, err := b.Post(e)
		if err != nil {
			return nil, nil, err
		}
		all = append(all, posted)
	}
	return b, all, nil
}

// Post adds an entry that is not before any other. Faults: STOCK_TOO_SMALL, LOT_EXPIRED,
// LOT_NOT_FOUND, RETURN_TOO_LARGE.
func (b *Book) Post(e Entry) (p Posted, err error) {
	p.Entry = e
	switch e.Kind {
	case CameIn:
		p.Parts = b.comeIn(e, e.Cost)
	case Found:
		p.Parts = b.comeIn(e, b.worth(e.Quantity))
	case WentOut:
		p.Parts, err = b.goOut(e)
	case CameBack:
		p.Parts, err = b.comeBack(e)
	case CostAdded:
		p.Parts, err = b.addCost(e)
	}
	for _, part := range p.Parts {
		b.OnHand, b.Value = b.OnHand.Add(part.Quantity), b.Value+part.Cost
	}
	return p, err
}

// comeIn makes a lot.
func (b *Book) comeIn(e Entry, cost money.Amount) []Part {
	l := &layer{Lot{ID: e.Lot, Quantity: e.Quantity, Left: e.Quantity, Cost: cost, CostLeft: cost, ReceivedAt: e.At}, e.Expires}
	at, _ := slices.BinarySearchFunc(b.lots, l, func(a, b *layer) int { return firstIn(a.Lot, b.Lot) })
	b.lots = slices.Insert(b.lots, at, l)
	b.last = l.Lot
	return []Part{{l.ID, e.Quantity, cost}}
}

// worth is what an amount that was found costs: as what is there does, or else as what came in
// last did; nothing when nothing ever came.
func (b *Book) worth(q decimal.Decimal) money.Amount {
	switch {
	case b.OnHand.IsPositive():
		return portion(b.Value, q, b.OnHand)
	case b.last.Quantity.IsPositive():
		return portion(b.last.Cost, q, b.last.Quantity)
	}
	return 0
}

// portion is the cost of a part, when the whole of an amount has a cost.
func portion(cost money.Amount, part, whole decimal.Decimal) money.Amount {
	share := new(big.Rat).Quo(part.Rat(), whole.Rat())
	return money.Round(share.Mul(share, new(big.Rat).SetInt64(int64(cost))))
}
