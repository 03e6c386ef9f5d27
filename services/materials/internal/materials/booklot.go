package materials

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
)

var lotNotFound = fault.New(fault.NotFound, "LOT_NOT_FOUND", "There is no such lot of this product; look it up in the list of its lots.").At("lot")

// split makes a part of a lot, or what is left of it where that is less, a lot of its own that
// goes out where the lot would have. It takes the part's share of the cost along.
func (b *Book) split(e Entry) ([]Part, error) {
	l, err := b.find(e.Lot)
	if err != nil {
		return nil, err
	}
	q := decimal.Min(e.Quantity, l.Left)
	if !q.IsPositive() {
		return nil, shortage{asked: e.Quantity, named: true}
	}
	part := *l
	part.ID, part.Quantity, part.Left, part.Cost, part.CostLeft = e.Into, q, q, 0, 0
	part.Opened = part.Opened || e.Opened
	if !e.Expires.IsZero() {
		part.Expires = e.Expires
	}
	if e.Purpose == ForMove {
		part.Place = e.Place
	}
	if b.Method == FirstIn {
		part.Cost = l.take(q)
		part.CostLeft = part.Cost
	} else {
		l.Left = l.Left.Sub(q)
	}
	b.insert(&part)
	return []Part{{l.ID, q.Neg(), -part.CostLeft}, {part.ID, q, part.CostLeft}}, nil
}

// mark closes a lot or puts it elsewhere.
func (b *Book) mark(e Entry) error {
	l, err := b.find(e.Lot)
	switch {
	case err != nil:
		return err
	case e.Kind == Moved:
		l.Place = e.Place
	default:
		l.Closed = true
	}
	return nil
}

// addCost corrects what a lot cost. It is dated when the lot came in, so nothing of it has gone
// out; only what a count found is not there yet.
func (b *Book) addCost(e Entry) ([]Part, error) {
	l, err := b.find(e.Lot)
	if err != nil {
		return nil, fault.New(fault.Precondition, "LOT_WAS_FOUND", "A count found that, and it costs what the rest does; correct the cost of what came in.").At("lot")
	}
	if l.Cost+e.Cost < 0 {
		return nil, fault.New(fault.Invalid, "COST_BELOW_ZERO", "The lot would have cost less than nothing; check the amount.").At("cost")
	}
	l.Cost += e.Cost
	if b.Method == FirstIn {
		l.CostLeft += e.Cost
	}
	if b.lastIs(l) {
		b.Last.Cost = l.Cost
	}
	return []Part{{l.ID, decimal.Zero, e.Cost}}, nil
}

// lastIs says whether a lot came in last: then what it cost is what found stock costs.
func (b *Book) lastIs(l *Lot) bool {
	return len(b.lots) > 0 && b.Last.Quantity.Equal(l.Quantity) && b.lots[len(b.lots)-1].ID == l.ID
}
