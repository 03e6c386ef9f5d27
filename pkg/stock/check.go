package stock

import (
	"math"

	"tackfree/pkg/dimension"
)

// check refuses figures that nobody could buy by.
func (p Policy) check(s State, price float64) error {
	for _, c := range []struct {
		name       string
		v, low, hi float64
	}{
		{"service level", p.Service, 0.5, 0.9999}, {"days between looks", p.Review, 1.0 / 24, 366}, {"cost of an order", float64(p.OrderCost), 0, 1e9},
		{"cost of holding", p.Holding, 0.001, 10}, {"price", price, 0, 1e9}, {"what is on hand", s.OnHand, 0, 1e12},
	} {
		if err := dimension.Within(c.name, c.v, c.low, c.hi, ""); err != nil {
			return err
		}
	}
	if err := s.Use.check("the use a day"); err != nil {
		return err
	}
	return s.Lead.check("the time of delivery")
}

func (s Spread) check(what string) error {
	if err := dimension.Within(what, s.Mean, 0, math.MaxFloat64, ""); err != nil {
		return err
	}
	return dimension.Within("standard deviation of "+what, s.SD, 0, math.MaxFloat64, "")
}
