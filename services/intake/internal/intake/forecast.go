package intake

import (
	"math"
	"math/big"

	"github.com/shopspring/decimal"

	"tackfree/pkg/buying"
	"tackfree/pkg/estimate"
	"tackfree/pkg/money"
)

// Work is what a piece would be to do: hands-on minutes, likely and the range that they fall into
// nine times in ten.
type Work struct {
	Minutes, Low, High int32
	Learned            int32 // minutes that were learned here; the others go by what is usual
	LeastDays          int32 // calendar days until it can be sold
	Stages             int32
	Hazards            []Hazard
}

// hours is the log-normal with the likely minutes as its median and such a range. Less than a minute is
// no work that anybody could plan.
func (w Work) hours() estimate.LogNormal {
	const ninetyFifth = 1.6448536269514722 // of the standard normal
	low, high := float64(max(1, w.Low)), float64(max(1, w.Low, w.High))
	return estimate.LogNormal{Mu: math.Log(float64(max(1, w.Minutes)) / 60), Sigma: math.Log(high/low) / (2 * ninetyFifth)}
}

// usual is the share of the minutes that was not learned.
func (w Work) usual() float64 {
	if w.Minutes <= 0 {
		return 1
	}
	return min(1, max(0, 1-float64(w.Learned)/float64(w.Minutes)))
}

// Need is what the work takes of a product; both quantities are in the base unit of its measure.
type Need struct {
	Product string // its name
	Needed  decimal.Decimal
	Cost    money.Amount    // of Of; without meaning where that is zero
	Of      decimal.Decimal // zero: nobody knows a price
}

// materialSpread is how far the material of a piece is off what was planned for it, as a share of it.
// Common practice.
const materialSpread = 0.25

// costOf adds up what the needs cost, exactly, and names those without a price.
func costOf(needs []Need) (cost buying.Spread, unpriced []string) {
	sum := new(big.Rat)
	for _, n := range needs {
		if !n.Of.IsPositive() {
			unpriced = append(unpriced, n.Product)
			continue
		}
		one := new(big.Rat).Mul(new(big.Rat).SetInt64(int64(n.Cost)), n.Needed.Rat())
		sum.Add(sum, one.Quo(one, n.Of.Rat()))
	}
	mean, _ := sum.Float64()
	return buying.Spread{Mean: mean, SD: materialSpread * mean}, unpriced
}

// SoldBy is the share of such pieces that are sold by the end of a day; 0 is the first.
type SoldBy struct {
	Day   int32
	Share float64
}

// Market is what such a piece brings, and how soon.
type Market struct {
	Likely        money.Amount // without tax
	Spread        float64      // standard deviation of the logarithm of the price
	SoldBy        []SoldBy     // by day, when asked for the likely price
	HoldingPerDay money.Amount
	FloorSaidOf   Size // as of Basis
	FeePercent    float64
	Horizon       int32        // days after which what is not sold goes for
	Salvage       money.Amount // this, after fees
	Sales, OfKind int32
	Belief        float64
	TooFew        bool
	Likes         []Like
}

func (m Market) price() estimate.LogNormal {
	return estimate.LogNormal{Mu: math.Log(float64(max(1, m.Likely))), Sigma: m.Spread}
}

// daysToSell is how many days it takes until a share (above 0, below 1) of such pieces is sold, along a
// straight line between the days that are told; the horizon where fewer are sold by then.
func (m Market) daysToSell(share float64) float64 {
	days, sold := 0.0, 0.0
	for _, at := range m.SoldBy {
		end := float64(at.Day + 1) // it is sold by the end of the day
		if at.Share >= share {
			return days + (end-days)*(share-sold)/(at.Share-sold)
		}
		days, sold = end, at.Share
	}
	return max(days, float64(m.Horizon))
}

// unsold is the share that is not sold by the horizon.
func (m Market) unsold() float64 {
	if len(m.SoldBy) == 0 {
		return 0
	}
	return 1 - m.SoldBy[len(m.SoldBy)-1].Share
}

// told is daysToSell as it is shown: 0 where fewer are sold by the horizon.
func (m Market) told(share float64) float64 {
	if share > 1-m.unsold() {
		return 0
	}
	return m.daysToSell(share)
}
