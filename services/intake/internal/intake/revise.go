package intake

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Revision is how a lot's price shall be split instead.
type Revision struct {
	Split   Split
	Pieces  []id.ID // all of the lot, in any order; of an equal split perhaps none
	Weights []Weight
	Reason  string
	At      time.Time
}

// Revise adds terms with another split. Faults: TIME_BEFORE_INTAKE, PIECE_NOT_OF_LOT, PIECE_TWICE,
// PIECE_MISSING, SPLIT_UNCHANGED and those of a split.
func (l *Lot) Revise(r Revision, c money.Currency) error {
	if err := l.inBy(r.At, "revise_time"); err != nil {
		return err
	}
	now := l.Now()
	weights, err := r.Split.weigh(now.Price, r.Weights, c)
	if err != nil {
		return err
	}
	if weights, err = l.arranged(r, weights); err != nil {
		return err
	}
	if now.Split == r.Split && slices.EqualFunc(now.Shares, weights, func(s Share, w int64) bool { return s.Weight == w }) {
		return fault.New(fault.Precondition, "SPLIT_UNCHANGED", "The price of the lot is already split like this; there is nothing to revise.")
	}
	l.add(Terms{Price: now.Price, Split: r.Split, Reason: r.Reason, SetAt: r.At}, weights)
	return nil
}

// arranged puts weights that were given for some pieces into the lot's order.
func (l *Lot) arranged(r Revision, weights []int64) ([]int64, error) {
	shares := l.Now().Shares
	if r.Split == Equally && len(r.Pieces) == 0 {
		return slices.Repeat([]int64{1}, len(shares)), nil
	}
	given := map[id.ID]int64{}
	for i, piece := range r.Pieces {
		field := fmt.Sprintf("items[%d].piece", i)
		known := slices.IndexFunc(shares, func(s Share) bool { return s.Piece == piece })
		if known < 0 {
			return nil, fault.New(fault.Invalid, "PIECE_NOT_OF_LOT", "%s was not bought in this lot; name the lot's own pieces.", id.Name("pieces", piece)).At(field)
		}
		if _, twice := given[piece]; twice {
			return nil, fault.New(fault.Invalid, "PIECE_TWICE", "Piece %d is named twice; name each piece once.", shares[known].Tag).At(field)
		}
		given[piece] = weights[i]
	}
	out, missing := make([]int64, len(shares)), []string{}
	for i, s := range shares {
		w, ok := given[s.Piece]
		if out[i] = w; !ok {
			missing = append(missing, fmt.Sprint(s.Tag))
		}
	}
	if len(missing) > 0 {
		return nil, fault.New(fault.Invalid, "PIECE_MISSING", "The split says nothing of piece %s; name every piece of the lot.", strings.Join(missing, ", ")).
			At("items").With("tags", strings.Join(missing, ","))
	}
	return out, nil
}

// CorrectPrice adds terms with another price, split as the one before is, and returns that one.
// Faults: TIME_BEFORE_INTAKE, PRICE_UNCHANGED.
func (l *Lot) CorrectPrice(to money.Amount, reason string, at time.Time) (from money.Amount, err error) {
	now := l.Now()
	if err := l.inBy(at, "correct_time"); err != nil {
		return 0, err
	}
	if now.Price == to {
		return 0, unchanged("The lot")
	}
	weights := make([]int64, len(now.Shares))
	for i, s := range now.Shares {
		weights[i] = s.Weight
	}
	l.add(Terms{Price: to, Split: now.Split, Reason: reason, SetAt: at}, weights)
	return now.Price, nil
}

// inBy refuses a time at which the shop did not have the lot. People type minutes.
func (l *Lot) inBy(at time.Time, field string) error {
	if at.Before(l.TakenInAt.Truncate(time.Minute)) {
		return fault.New(fault.Invalid, "TIME_BEFORE_INTAKE", "The lot only came in on %s; check the date.", l.TakenInAt.Format("2006-01-02 15:04 MST")).At(field)
	}
	return nil
}

// add splits the price of new terms over the pieces.
func (l *Lot) add(t Terms, weights []int64) {
	t.Shares = slices.Clone(l.Now().Shares)
	for i, amount := range apportion.Split(t.Price, weights) {
		t.Shares[i].Weight, t.Shares[i].Amount = weights[i], amount
	}
	l.Terms = append(slices.Clip(l.Terms), t)
}
