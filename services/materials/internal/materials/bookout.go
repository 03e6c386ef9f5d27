package materials

import (
	"slices"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// goOut takes from the lots: from the one that the entry names, or from what came first and has
// not expired.
func (b *Book) goOut(e Entry) ([]Part, error) {
	var outs []*taken
	need := e.Quantity
	for _, l := range b.lots {
		if q := decimal.Min(need, l.Left); q.IsPositive() && l.serves(e) {
			outs = append(outs, &taken{lot: l, quantity: q})
			need = need.Sub(q)
		}
	}
	if need.IsPositive() {
		return nil, b.short(e, need)
	}
	parts := make([]Part, len(outs))
	for n, cost := range b.costs(outs) {
		outs[n].cost = cost
		parts[n] = Part{outs[n].lot.ID, outs[n].quantity.Neg(), -cost}
	}
	if b.outs == nil {
		b.outs = map[id.ID][]*taken{}
	}
	b.outs[e.ID] = outs
	return parts, nil
}

// serves says whether what goes out may be from the lot.
func (l *layer) serves(e Entry) bool {
	return (e.Lot == id.Nil || e.Lot == l.ID) && (e.Stale || l.expires.IsZero() || e.At.Before(l.expires))
}

// costs takes what goes out from its lots and says what each part cost. By the moving average
// all of it costs its share of what everything is worth, and the parts add up to that; what is
// left of a lot then has no cost of its own.
func (b *Book) costs(outs []*taken) []money.Amount {
	costs, gone := make([]money.Amount, len(outs)), decimal.Zero
	for n, o := range outs {
		if b.Method == FirstIn {
			d := o.lot.draw(o.quantity)
			o.lot.Lot, costs[n] = d.Lot, d.Cost
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
func (b *Book) short(e Entry, lacks decimal.Decimal) error {
	stale := e
	stale.Stale = true
	for _, l := range b.lots {
		if l.Left.IsPositive() && !l.serves(e) && l.serves(stale) {
			return fault.New(fault.Precondition, "LOT_EXPIRED", "%s too little of it has not expired; what there is more expired on %s. Try it on scrap, and say why it may be used.",
				lacks, l.expires.Format("2006-01-02")).At("override_reason")
		}
	}
	return fault.New(fault.Precondition, "STOCK_TOO_SMALL", "On %s there was %s too little of it.", e.At.Format("2006-01-02 15:04"), lacks).At("quantity")
}

// comeBack gives a part of what went out back to its lots, what was taken last first, at what
// it went out for.
func (b *Book) comeBack(e Entry) ([]Part, error) {
	var parts []Part
	need := e.Quantity
	for _, o := range slices.Backward(b.outs[e.Of]) {
		if q := decimal.Min(need, o.quantity.Sub(o.returned)); q.IsPositive() {
			parts = append(parts, Part{o.lot.ID, q, b.giveBack(o, q)})
			need = need.Sub(q)
		}
	}
	if need.IsPositive() {
		return nil, fault.New(fault.Precondition, "RETURN_TOO_LARGE", "%s more would come back than was taken.", need).At("quantity")
	}
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

// addCost corrects what a lot cost. It is dated when the lot came in, so nothing of it has gone
// out.
func (b *Book) addCost(e Entry) ([]Part, error) {
	n := slices.IndexFunc(b.lots, func(l *layer) bool { return l.ID == e.Lot })
	if n < 0 {
		return nil, fault.New(fault.NotFound, "LOT_NOT_FOUND", "There was no such lot then.").At("lot")
	}
	l := b.lots[n]
	if l.Cost+e.Cost < 0 {
		return nil, fault.New(fault.Invalid, "COST_BELOW_ZERO", "The lot would have cost less than nothing.").At("cost")
	}
	l.Cost, l.CostLeft = l.Cost+e.Cost, l.CostLeft+e.Cost
	if b.last.ID == l.ID {
		b.last = l.Lot
	}
	return []Part{{l.ID, decimal.Zero, e.Cost}}, nil
}
