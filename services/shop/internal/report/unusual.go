package report

import (
	"slices"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// cost is a line of a cost sheet.
type cost struct {
	name string
	of   func(*costingv1.CostSums) *moneyv1.Money
}

// unusual are the lines that not every shop has: they are printed only where there is something in them.
var unusual = []cost{
	{"premium", (*costingv1.CostSums).GetPremium}, {"burden", (*costingv1.CostSums).GetBurden},
	{"overhead", (*costingv1.CostSums).GetOverhead}, {"outside", (*costingv1.CostSums).GetOutside},
}

// titles are what they are called where there is room.
var titles = map[string]string{"premium": "premium of overtime", "burden": "taxes and insurance on pay", "overhead": "overhead applied", "outside": "outside work"}

// unusualIn are those that some of the pieces have.
func unusualIn(pieces []*costingv1.PieceCost) (some []cost) {
	for _, u := range unusual {
		if slices.ContainsFunc(pieces, func(p *costingv1.PieceCost) bool { return !zero(u.of(p.GetSums())) }) {
			some = append(some, u)
		}
	}
	return some
}
