package materials

import (
	"slices"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// goOut takes from the lots: from the one that the entry names, or from what came first and may
// be used.
func (b *Book) goOut(e Entry, q decimal.Decimal) ([]Part, error) {
	var outs []*taken
	need := q
	for _, l := range b.lots {
		if q := decimal.Min(need, l.Left); q.IsPositive() && l.serves(e) {
			outs = append(outs, &taken{lot: l, quantity: q})
			need = need.Sub(q)
		}
	}
	if need.IsPositive() {
		return nil, b.short(e, q)
	}
	parts := make([]Part, len(outs))
	for n, cost := range b.costs(outs) {
		outs[n].cost = cost
		parts[n] = Part{outs[n].lot.ID, outs[n].quantity.Neg(), -cost}
	}
	b.outs[e.ID] = outs
	return parts, nil
}

// costs takes what goes out from its lots and says what each part cost. By the moving average
// all of it costs its share of what everything is worth, and the parts add up to that; a lot
// then has no cost of its own.
func (b *Book) costs(outs []*taken) []money.Amount {
	costs, gone := make([]money.Amount, len(outs)), decimal.Zero
	for n, o := range outs {
		if b.Method == FirstIn {
			costs[n] = o.lot.take(o.quantity)
			continue
		}
		o.lot.Left = o.lot.Left.Sub(o.quantity)
		before := portion(b.Value, gone, b.OnHand)
		gone = gone.Add(o.quantity)
		costs[n] = portion(b.Value, gone, b.OnHand) - before
	}
	return costs
}

// short says of what is too little whether more would be there, and why it may not be used.
func (b *Book) short(e Entry, q decimal.Decimal) error {
	anything := e
	anything.Takes = Anything
	left, expired, closed := decimal.Zero, decimal.Zero, decimal.Zero
	for _, l := range b.lots {
		switch {
		case l.serves(e):
			left = left.Add(l.Left)
		case l.Closed && l.serves(anything):
			closed = closed.Add(l.Left)
		case l.serves(anything):
			expired = expired.Add(l.Left)
		}
	}
	return shortage{asked: q, left: left, expired: expired, closed: closed, named: e.Lot != id.Nil}
}

// shortage is too little of something, and what would be there that may not be used; whoever knows
// its unit says it to people.
type shortage struct {
	asked, left, expired, closed decimal.Decimal
	named                        bool // only one lot would have done
}

func (shortage) Error() string { return "too little stock" }

// comeBack gives a part of what went out back to its lots, what was taken last first, at what
// it went out for.
func (b *Book) comeBack(e Entry) ([]Part, error) {
	out := decimal.Zero
	for _, o := range b.outs[e.Of] {
		out = out.Add(o.quantity).Sub(o.returned)
	}
	if e.Quantity.GreaterThan(out) {
		return nil, fault.New(fault.Precondition, "RETURN_TOO_LARGE", "That is more than is still out of it; check the amount, or what came back before.").At("quantity")
	}
	var parts []Part
	need := e.Quantity
	for _, o := range slices.Backward(b.outs[e.Of]) {
		if q := decimal.Min(need, o.quantity.Sub(o.returned)); q.IsPositive() {
			parts = append(parts, Part{o.lot.ID, q, b.giveBack(o, q)})
			need = need.Sub(q)
		}
	}
	slices.Reverse(parts) // in the order in which they went
	return parts, nil
}

// giveBack rounds the cost of all that ever came back, so that of all of it it is the very cost.
func (b *Book) giveBack(o *taken, q decimal.Decimal) (cost money.Amount) {
	o.returned = o.returned.Add(q)
	cost = portion(o.cost, o.returned, o.quantity) - o.credited
	o.credited += cost
	o.lot.Left = o.lot.Left.Add(q)
	if b.Method == FirstIn {
		o.lot.CostLeft += cost
	}
	return cost
}
