package materials

import (
	"slices"

	"github.com/shopspring/decimal"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
)

// Share is a stage of a batch that gets its part of what goes to the batch.
type Share struct {
	Issue  Issue
	Title  string // of the stage and its piece, for people
	Weight int64  // its part, by the sum of all
}

// Shared is an issue to a stage of a batch, and its piece as it is after it.
type Shared struct {
	Issue Issue
	Piece Piece
}

// IssueShares takes the amount from the lots and splits it over the stages of a batch by their
// weights, each an issue as if it were alone: quantities and costs add up to what one issue of
// the whole would be. Each issue is the next fact of its piece, which is among those given;
// the facts returned are the product's. Faults: PIECE_SCRAPPED, UNIT_OF_ANOTHER_MEASURE,
// QUANTITY_ABSURD, STOCK_TOO_SMALL.
func (p *Product) IssueShares(to map[id.ID]Piece, shares []Share, amount quantity.Quantity, lots []Lot) (out []Shared, facts []Fact, err error) {
	for _, s := range shares {
		if s.Issue.Stage.Scrapped {
			return nil, nil, fault.New(fault.Precondition, "PIECE_SCRAPPED",
				"%s is of a piece that was scrapped, so nothing more goes to it; issue to the other stages one by one.", s.Title).At("batch")
		}
	}
	parts, err := p.split(shares, amount, lots)
	if err != nil {
		return nil, nil, err
	}
	for n, s := range shares {
		if parts[n].IsZero() {
			continue
		}
		piece := to[s.Issue.Stage.Piece]
		issue, told, err := p.Issue(&piece, s.Issue, quantity.Quantity{Value: parts[n], Unit: p.Unit}, lots)
		if err != nil {
			return nil, nil, err
		}
		to[piece.ID] = piece
		lots = after(lots, issue.Draws)
		out, facts = append(out, Shared{issue, piece}), append(facts, told...)
	}
	return out, facts, nil
}

// split says how much each share gets of what there is enough of.
func (p *Product) split(shares []Share, amount quantity.Quantity, lots []Lot) ([]decimal.Decimal, error) {
	counted, err := Counted("quantity", amount, p.Unit)
	if err != nil {
		return nil, err
	}
	if _, err := Draw(lots, counted); err != nil {
		return nil, err
	}
	weights := make([]int64, len(shares))
	for n, s := range shares {
		weights[n] = s.Weight
	}
	return Split(counted, weights)
}

// step is the smallest amount, in the unit that a product is counted in, that is handed out
// in a split: a whole one of what is counted one by one; else a thousandth, a millilitre, a
// milligram or a millimetre. Common practice: nobody doses finer.
func step(u quantity.Unit) decimal.Decimal {
	if u.Measure == quantity.Count {
		return decimal.New(1, 0)
	}
	return decimal.New(1, -3)
}

// Split splits an amount in a base unit over weights, in whole steps by largest remainders;
// what is less than a step goes with the largest weight. Of what is measured each gets
// something; of what is counted one by one a part may be zero. The parts add up to the
// amount exactly. Fault: QUANTITY_ABSURD.
func Split(amount quantity.Quantity, weights []int64) ([]decimal.Decimal, error) {
	one := step(amount.Unit)
	whole, rest := amount.Value.QuoRem(one, 0)
	steps := apportion.Split(whole.IntPart(), weights)
	if amount.Unit.Measure != quantity.Count {
		if whole.IntPart() < int64(len(weights)) {
			return nil, fault.New(fault.Invalid, "QUANTITY_ABSURD", "%s is too little to split over %d stages, each of which gets %s %s at least; issue it to one of them.",
				shown(amount), len(weights), one, amount.Unit.Symbol).At("quantity")
		}
		giveEach(steps)
	}
	parts := make([]decimal.Decimal, len(steps))
	for n, s := range steps {
		parts[n] = one.Mul(decimal.NewFromInt(s))
	}
	largest := slices.Index(weights, slices.Max(weights))
	parts[largest] = parts[largest].Add(rest)
	return parts, nil
}

// giveEach gives those who got nothing one of those who got the most; there are enough.
func giveEach(steps []int64) {
	for n := range steps {
		if steps[n] == 0 {
			steps[slices.Index(steps, slices.Max(steps))]--
			steps[n]++
		}
	}
}

// after are the lots as draws leave them.
func after(lots []Lot, draws []Drawn) []Lot {
	left := slices.Clone(lots)
	for _, d := range draws {
		left[slices.IndexFunc(left, func(l Lot) bool { return l.ID == d.Lot.ID })] = d.Lot
	}
	return left
}
