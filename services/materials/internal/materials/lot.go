package materials

import (
	"bytes"
	"math/big"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// Lot is what came in at one time and at one cost. Amounts are in the product's unit.
type Lot struct {
	ID             id.ID
	Quantity, Left decimal.Decimal
	Cost, CostLeft money.Amount
	ReceivedAt     time.Time
	Supplier       string
}

// Drawn is a part of a lot that was taken from it.
type Drawn struct {
	Lot      Lot // as it is afterwards
	Quantity decimal.Decimal
	Cost     money.Amount
}

// Draw takes an amount, in the product's unit, from the lots: from the one received
// first, then from the next. Fault: STOCK_TOO_SMALL.
func Draw(lots []Lot, amount quantity.Quantity) ([]Drawn, error) {
	var draws []Drawn
	need := amount.Value
	for _, l := range slices.SortedFunc(slices.Values(lots), firstIn) {
		if !need.IsPositive() {
			break
		}
		if q := decimal.Min(need, l.Left); q.IsPositive() {
			draws = append(draws, l.draw(q))
			need = need.Sub(q)
		}
	}
	if need.IsPositive() {
		return nil, stockTooSmall(lots, amount)
	}
	return draws, nil
}

// draw takes a part of what is left. The cost of all that was ever taken from a lot is
// rounded, never that of a single draw; so the draws of a lot add up to its cost, however
// many they are.
func (l Lot) draw(q decimal.Decimal) Drawn {
	left := l.Left.Sub(q)
	taken := new(big.Rat).Quo(l.Quantity.Sub(left).Rat(), l.Quantity.Rat())
	costLeft := l.Cost - money.Round(taken.Mul(taken, new(big.Rat).SetInt64(int64(l.Cost))))
	d := Drawn{Lot: l, Quantity: q, Cost: l.CostLeft - costLeft}
	d.Lot.Left, d.Lot.CostLeft = left, costLeft
	return d
}

// firstIn orders lots by when they were received, then by when they were written down.
func firstIn(a, b Lot) int {
	if c := a.ReceivedAt.Compare(b.ReceivedAt); c != 0 {
		return c
	}
	return bytes.Compare(a.ID[:], b.ID[:])
}

func stockTooSmall(lots []Lot, amount quantity.Quantity) error {
	left := quantity.Quantity{Unit: amount.Unit}
	for _, l := range lots {
		left.Value = left.Value.Add(l.Left)
	}
	return fault.New(fault.Precondition, "STOCK_TOO_SMALL",
		"%s is more than the %s that is left; take less, or receive what came in first.", amount, left).
		At("quantity").With("left", left.String())
}

func costOf(draws []Drawn) (sum money.Amount) {
	for _, d := range draws {
		sum += d.Cost
	}
	return sum
}
