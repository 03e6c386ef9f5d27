package stock

import (
	"errors"
	"math"

	"tackfree/pkg/dimension"
)

// EOQ is the order that keeps the cost of ordering and of holding together lowest, at a steady
// use a year: √(2DS/H), with S the cost of one order and H of holding one unit for a year.
// F. W. Harris, How Many Parts to Make at Once, Factory, The Magazine of Management 10(2),
// February 1913, 135–136 and 152.
func EOQ(useAYear, orderCost, holdingAYear float64) (float64, error) {
	if err := errors.Join(dimension.Within("use a year", useAYear, 0, math.MaxFloat64, ""), dimension.Within("cost of an order", orderCost, 0, math.MaxFloat64, ""),
		dimension.Above("cost of holding one for a year", holdingAYear, 0, math.MaxFloat64, "")); err != nil {
		return 0, err
	}
	return math.Sqrt(2 * useAYear * orderCost / holdingAYear), nil
}

// CostAYear is what orders of q cost in a year, to order and to hold.
func CostAYear(useAYear, orderCost, holdingAYear, q float64) (ordering, holding float64) {
	return useAYear / q * orderCost, q / 2 * holdingAYear
}

// SafetyStock is held so that, of the times between an order and its delivery, a share of
// service passes without anything running out, when what is used in it has a standard deviation.
// Fault: OUT_OF_RANGE, of a
// service below a half or of one that is all but certain.
func SafetyStock(service, sd float64) (float64, error) {
	if err := dimension.Within("service level", service, 0.5, 0.9999, ""); err != nil {
		return 0, err
	}
	return z(service) * sd, nil
}

// ReorderPoint is how much is left when an order has to go out: what will be used until it
// comes, and the safety stock.
func ReorderPoint(use, lead Spread, service float64) (float64, error) {
	over := OverLead(use, lead)
	safety, err := SafetyStock(service, over.SD)
	return over.Mean + safety, err
}

// CriticalRatio is the chance of having enough that pays best when what is left over is worth
// less, and what is missing would have earned: the newsvendor's. under is what one missing
// costs, over what one too many does.
func CriticalRatio(under, over float64) (float64, error) {
	if err := errors.Join(dimension.Above("cost of one missing", under, 0, math.MaxFloat64, ""), dimension.Above("cost of one too many", over, 0, math.MaxFloat64, "")); err != nil {
		return 0, err
	}
	return under / (under + over), nil
}

// OneOrder is the best order where there is only one, of a demand that is normal.
func OneOrder(demand Spread, ratio float64) float64 { return demand.Mean + z(ratio)*demand.SD }

// Missed is how much of a normal demand is expected to be missed by an order of q: σ(φ(k) −
// k(1 − Φ(k))), with k = (q − μ)/σ.
func Missed(demand Spread, q float64) float64 {
	if demand.SD == 0 {
		return max(0, demand.Mean-q)
	}
	k := (q - demand.Mean) / demand.SD
	return demand.SD * (math.Exp(-k*k/2)/math.Sqrt(2*math.Pi) - k*math.Erfc(k/math.Sqrt2)/2)
}
