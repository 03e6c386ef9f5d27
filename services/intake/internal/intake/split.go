package intake

import (
	"fmt"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Split is how the price of a lot is spread over its pieces. By value is the relative sales value
// method of joint costs: each piece bears of the joint cost what it is expected to bring of all that
// the pieces bring.
type Split string

// The splits.
const (
	ByValue Split = "by_value" // by what each is expected to sell for
	Equally Split = "equally"
	ByHand  Split = "by_hand" // each share is named
)

// Weight is what is said of a piece for a split: of the two at most one.
type Weight struct {
	Value *money.Amount // what it is expected to sell for
	Share *money.Amount // what of the price is its own
}

// weigh gives the weights of pieces, by the sum of all. A share by hand is its own weight, so that
// another price is split as the first one was. Faults: WEIGHT_MISSING, WEIGHT_OF_ANOTHER_SPLIT,
// NO_EXPECTED_VALUE, SHARES_DO_NOT_ADD_UP.
func (s Split) weigh(price money.Amount, said []Weight, c money.Currency) ([]int64, error) {
	out := make([]int64, len(said))
	var sum money.Amount
	for i, w := range said {
		amount, err := s.weight(w, i)
		if err != nil {
			return nil, err
		}
		out[i] = int64(amount)
		sum += amount
	}
	switch {
	case s == ByValue && sum == 0:
		return nil, fault.New(fault.Invalid, "NO_EXPECTED_VALUE",
			"None of the pieces is expected to sell for anything, so there is nothing to split the price by; split it equally or by hand.").At("items")
	case s == ByHand && sum != price:
		return nil, doNotAddUp(sum, price, c)
	}
	return out, nil
}

// weight is what one piece counts for.
func (s Split) weight(w Weight, i int) (money.Amount, error) {
	field, own, other := fmt.Sprintf("items[%d].weight", i), w.Value, w.Share
	switch s {
	case Equally:
		if w.Value != nil || w.Share != nil {
			return 0, fault.New(fault.Invalid, "WEIGHT_OF_ANOTHER_SPLIT", "An equal split asks for neither values nor shares; leave them out, or split by them.").At(field)
		}
		return 1, nil
	case ByHand:
		own, other = w.Share, w.Value
	}
	word := map[Split]string{ByValue: "what each piece is expected to sell for", ByHand: "the share of each piece"}[s]
	switch {
	case other != nil:
		return 0, fault.New(fault.Invalid, "WEIGHT_OF_ANOTHER_SPLIT", "This split goes by %s, and something else is said of piece %d of the list.", word, i+1).At(field)
	case own == nil:
		return 0, fault.New(fault.Invalid, "WEIGHT_MISSING", "This split goes by %s; say it of piece %d of the list too.", word, i+1).At(field)
	}
	return *own, nil
}

// doNotAddUp says by how much shares are not the price.
func doNotAddUp(sum, price money.Amount, c money.Currency) error {
	off, than := price-sum, "less"
	if off < 0 {
		off, than = -off, "more"
	}
	return fault.New(fault.Invalid, "SHARES_DO_NOT_ADD_UP", "The shares come to %s %s, which is %s %s than the price of %s; change one of them.",
		c.Format(sum), c.Code, c.Format(off), than, c.Format(price)).At("items").With("difference", c.Format(sum-price))
}
