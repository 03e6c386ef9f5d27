package stock

import (
	"math"
	"slices"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Package is a size that a supplier sells a product in.
type Package struct {
	Label   string
	Content float64 // in the product's unit, above zero
	Breaks  []Break // by rising number; the first from 1 on
}

// Break is what one package costs when at least From are ordered at once.
type Break struct {
	From  int
	Price money.Amount
}

// priceAt is what each of n packages costs.
func (p Package) priceAt(n int) (price money.Amount, ok bool) {
	for _, b := range p.Breaks {
		if n >= b.From {
			price, ok = b.Price, true
		}
	}
	return price, ok
}

// Choice is what to order: so many of one package.
type Choice struct {
	Package int // its place among those offered
	Count   int
	Cost    money.Amount // of all
}

// Choose finds the package and the number of it that cover an amount and cost least by the
// year: to buy, to order and to hold. That may be more than the amount where a larger order or
// package is cheaper by the year, but not more than most, as much as is used up while it keeps,
// where any package is small enough. useAYear is all that is used. G. Hadley and T. M. Whitin,
// Analysis of Inventory Systems (1963), section 2-11, for price breaks on all units; cited from
// memory. Faults: PACKAGE_MISSING, OUT_OF_RANGE.
func (p Policy) Choose(amount, most, useAYear float64, offered []Package) (Choice, error) {
	for _, pack := range offered {
		if err := dimension.Above("content of a package", pack.Content, 0, math.MaxFloat64, ""); err != nil {
			return Choice{}, err
		}
	}
	best, lowest := Choice{}, math.Inf(1)
	fits := slices.ContainsFunc(offered, func(pack Package) bool { return pack.cover(amount) <= most })
	for i, pack := range offered {
		if fits && pack.cover(amount) > most {
			continue
		}
		for _, n := range p.counts(pack, amount, most, useAYear) {
			price, sold := pack.priceAt(n)
			if !sold {
				continue
			}
			if cost := p.aYear(pack, n, price, amount, useAYear); cost < lowest {
				best, lowest = Choice{i, n, price * money.Amount(n)}, cost
			}
		}
	}
	if math.IsInf(lowest, 1) {
		return best, fault.New(fault.Precondition, "PACKAGE_MISSING", "No supplier sells this; enter who sells it, in what size and at what price.").At("packages")
	}
	return best, nil
}

// cover is what the fewest packages hold that cover an amount.
func (p Package) cover(amount float64) float64 { return float64(p.least(amount)) * p.Content }

func (p Package) least(amount float64) int {
	return max(1, int(math.Ceil(amount/p.Content-trace)))
}

// counts are the numbers of a package that may be best: what covers the amount, what EOQ gives
// at each price, and where each price begins; with most as the limit, but for what has to be.
func (p Policy) counts(pack Package, amount, most, useAYear float64) []int {
	least := pack.least(amount)
	limit := max(least, int(math.Floor(most/pack.Content)))
	all := []int{least}
	for _, b := range pack.Breaks {
		q, err := EOQ(useAYear, float64(p.OrderCost), p.Holding*float64(b.Price)/pack.Content)
		if err != nil {
			continue
		}
		for _, n := range []int{int(q / pack.Content), int(math.Ceil(q / pack.Content)), b.From} {
			if n > least && n <= limit {
				all = append(all, n)
			}
		}
	}
	return all
}

// aYear is what it costs in a year to buy, to order and to hold, when all orders are like this
// one. Where next to nothing is used the order itself has to be paid for.
func (p Policy) aYear(pack Package, n int, price money.Amount, amount, useAYear float64) float64 {
	q, unit := float64(n)*pack.Content, float64(price)/pack.Content
	use := max(useAYear, amount)
	return use*unit + use/q*float64(p.OrderCost) + p.Holding*unit*q/2
}
