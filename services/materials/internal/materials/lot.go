package materials

import (
	"bytes"
	"math/big"
	"slices"
	"time"

	"github.com/shopspring/decimal"

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
//
// That holds also after a draw was put back. Cost is never made or lost: it moves between
// a lot and its draws, so what is left and the draws that stand always cost the whole lot
// together; and nothing left is due nothing, so when the lot is used up the draws that
// stand have cost exactly it. On the way, what is left can cost a little more or less than
// is due, since the draw that was put back had been rounded elsewhere. If more, the next
// draw takes the difference along. If less, the next draws cost less, at least nothing,
// until the lot has come down to what is due. So a draw is off its exact share by at most
// one minor unit, and two for each time that something was put back into the lot.
func (l Lot) draw(q decimal.Decimal) Drawn {
	d := Drawn{Lot: l, Quantity: q}
	d.Lot.Left = l.Left.Sub(q)
	d.Lot.CostLeft = min(l.CostLeft, l.due(d.Lot.Left))
	d.Cost = l.CostLeft - d.Lot.CostLeft
	return d
}

// due is what an amount left of the lot costs when the total of what was taken is rounded.
func (l Lot) due(left decimal.Decimal) money.Amount {
	taken := new(big.Rat).Quo(l.Quantity.Sub(left).Rat(), l.Quantity.Rat())
	return l.Cost - money.Round(taken.Mul(taken, new(big.Rat).SetInt64(int64(l.Cost))))
}

// putBack undoes a draw: what it took is in its lot again, at the very cost it was taken
// at.
func putBack(d Drawn) Drawn {
	d.Lot.Left = d.Lot.Left.Add(d.Quantity)
	d.Lot.CostLeft += d.Cost
	return d
}

// firstIn orders lots by when they were received, then by when they were written down.
func firstIn(a, b Lot) int {
	if c := a.ReceivedAt.Compare(b.ReceivedAt); c != 0 {
		return c
	}
	return bytes.Compare(a.ID[:], b.ID[:])
}
