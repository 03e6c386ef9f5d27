package stock

import (
	"github.com/shopspring/decimal"
)

// A can is drawn 48 wide and 64 high; what it holds stands between its bottom and its rim.
const (
	canBottom = 60
	canRim    = 12
	canDepth  = canBottom - canRim
)

// level is how full a can is drawn, in lines from the top of the drawing: what plans have promised at the
// bottom, what is free above it. What is on order, what is missing and the restock threshold are lines.
type level struct {
	Promised, Free int // tops of the two, which are canBottom where there is nothing
	PromisedDeep   int // how deep each is
	FreeDeep       int
	Lacks          int // where it would have to reach for what is promised; 0: it does
	Ordered        int // where what is on order would bring it; 0: nothing is
	Threshold      int // 0: there is none
}

// fill says how full a can is drawn. Its rim is the most of: what is there with what is on order, what is
// promised, the threshold.
func fill(onHand, reserved, onOrder, threshold decimal.Decimal) level {
	rim := decimal.Max(onHand.Add(onOrder), reserved, threshold)
	at := func(v decimal.Decimal) int {
		if !rim.IsPositive() || !v.IsPositive() {
			return canBottom
		}
		return canBottom - int(v.Mul(decimal.NewFromInt(canDepth)).Div(rim).Round(0).IntPart())
	}
	l := level{Promised: at(decimal.Min(reserved, onHand)), Free: at(onHand)}
	l.PromisedDeep, l.FreeDeep = canBottom-l.Promised, l.Promised-l.Free
	if reserved.GreaterThan(onHand) {
		l.Lacks = at(reserved)
	}
	if onOrder.IsPositive() {
		l.Ordered = at(onHand.Add(onOrder))
	}
	if threshold.IsPositive() {
		l.Threshold = at(threshold)
	}
	return l
}
