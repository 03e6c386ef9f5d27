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
	ID     id.ID // of its entry
	To     Stage
	Title  string // of the stage and its piece, for people
	Weight int64  // its part, by the sum of all
}

// IssueShares splits an amount over the stages of a batch by their weights, each an entry like e and
// with an id of its own: they add up to the amount. There must be enough on the shelf, or the
// shares would be of what is not there; of an earlier time only the book knows that. Faults:
// PIECE_SCRAPPED, UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD, STOCK_TOO_SMALL.
func (p Product) IssueShares(shares []Share, e Entry, amount quantity.Quantity) ([]Entry, error) {
	for _, s := range shares {
		if s.To.Scrapped {
			return nil, fault.New(fault.Precondition, "PIECE_SCRAPPED",
				"%s is of a piece that was scrapped, so nothing more goes to it; issue to the other stages one by one.", s.Title).At("batch")
		}
	}
	value, err := p.goes(amount)
	if err != nil {
		return nil, err
	}
	counted := quantity.Quantity{Value: value, Unit: p.Unit}
	if counted.Value.GreaterThan(p.OnHand) && !e.At.Before(p.Newest.At) {
		return nil, stockTooSmall(quantity.Quantity{Value: p.OnHand, Unit: p.Unit}, counted, "")
	}
	weights := make([]int64, len(shares))
	for n, s := range shares {
		weights[n] = s.Weight
	}
	parts, err := SplitOver(counted, weights)
	if err != nil {
		return nil, err
	}
	var out []Entry
	for n, s := range shares {
		if parts[n].IsZero() {
			continue
		}
		share := e
		share.ID, share.To, share.Kind, share.Purpose, share.Quantity = s.ID, s.To, WentOut, ForIssue, parts[n]
		out = append(out, share)
	}
	return out, nil
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

// SplitOver splits an amount in a base unit over weights, in whole steps by largest remainders;
// what is less than a step goes with the largest weight. Of what is measured each gets
// something; of what is counted one by one a part may be zero. The parts add up to the
// amount exactly. Fault: QUANTITY_ABSURD.
func SplitOver(amount quantity.Quantity, weights []int64) ([]decimal.Decimal, error) {
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
