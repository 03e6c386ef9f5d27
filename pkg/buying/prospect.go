package buying

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/estimate"
)

// Spread is a mean and a standard deviation, of what cannot be below zero.
type Spread struct{ Mean, SD float64 }

// Prospect is a piece that might be bought, and what is believed of it.
type Prospect struct {
	Price         estimate.LogNormal      // what it sells for without tax, minor units
	FeeShare      float64                 // what the channel keeps of the price, 0 to below 1
	Hours         estimate.LogNormal      // hands-on work on it
	FixedHours    float64                 // hands-on hours that are certain, such as driving and loading
	Material      Spread                  // minor units
	Fixed         float64                 // costs that are certain, such as hardware and travel, minor units
	Days          func(u float64) float64 // until it is sold: the quantile of u, above 0 and below 1, never falling; nil: at once
	HoldingPerDay float64                 // what its floor costs a day, minor units
	Unsold        float64                 // the share that is not sold by the last of the days, 0 to 1
	Salvage       float64                 // what it brings then, after the fee, minor units
	LabourPerHour float64                 // with burden and overhead, minor units
	Asking        float64                 // what it is offered for, minor units
}

// Goal is what a purchase is to bring.
type Goal struct {
	PerHour float64 // to be left of each hour when all is paid, labour too, minor units
	Chance  float64 // how surely, 0.01 to 0.99
}

// What is worth an answer: up to a thousand million million minor units, a century of hours or
// days, and what is not so wide that nothing can be said of it.
const (
	mostMoney  = 1e15
	mostTime   = 1e6
	maxSigma   = 3
	minLnPrice = 0  // of one minor unit
	maxLnPrice = 34 // of about mostMoney
	minLnHours = -8 // of a second
	maxLnHours = 13 // of about mostTime
	minor      = "minor units"
)

// check refuses what is out of range, by the name of the field.
func (p Prospect) check(g Goal) error {
	for _, v := range []struct {
		name             string
		value, low, high float64
		unit             string
	}{
		{"log mean of the price", p.Price.Mu, minLnPrice, maxLnPrice, ""}, {"log spread of the price", p.Price.Sigma, 0, maxSigma, ""},
		{"fee share", p.FeeShare, 0, 0.99, ""},
		{"log mean of the hours", p.Hours.Mu, minLnHours, maxLnHours, ""}, {"log spread of the hours", p.Hours.Sigma, 0, maxSigma, ""},
		{"fixed hours", p.FixedHours, 0, mostTime, "h"},
		{"mean of the material", p.Material.Mean, 0, mostMoney, minor}, {"spread of the material", p.Material.SD, 0, 90 * p.Material.Mean, minor},
		{"fixed cost", p.Fixed, 0, mostMoney, minor},
		{"holding per day", p.HoldingPerDay, 0, mostMoney, minor}, {"share unsold", p.Unsold, 0, 1, ""}, {"salvage", p.Salvage, 0, mostMoney, minor}, {"labour per hour", p.LabourPerHour, 0, mostMoney, minor},
		{"asking price", p.Asking, 0, mostMoney, minor},
		{"target per hour", g.PerHour, 0, mostMoney, minor}, {"chance", g.Chance, 0.01, 0.99, ""},
	} {
		if err := dimension.Within(v.name, v.value, v.low, v.high, v.unit); err != nil {
			return err
		}
	}
	return nil
}

// logNormal is the log-normal with this mean and deviation: NIST/SEMATECH e-Handbook of Statistical
// Methods, section 1.3.6.6.9, solved for the parameters. A spread of nothing at all is nothing.
func (s Spread) logNormal() estimate.LogNormal {
	s2 := math.Log1p(s.SD / s.Mean * s.SD / s.Mean)
	return estimate.LogNormal{Mu: math.Log(s.Mean) - s2/2, Sigma: math.Sqrt(s2)}
}
