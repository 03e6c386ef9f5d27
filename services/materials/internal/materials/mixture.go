package materials

import (
	"maps"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
)

// Mixture is the recipe by which the shop mixes a product, as far as what to buy follows from it.
type Mixture struct {
	Recipe id.ID
	Name   string
	Keeps  time.Duration // once it is mixed; 0: nobody said
	Parts  []MixturePart
}

// MixturePart is how much of a product goes into each unit of a mix, in the product's unit.
type MixturePart struct {
	Product id.ID
	Each    decimal.Decimal
}

// Mixtures are by the product that they make.
type Mixtures map[id.ID]Mixture

// Takers are some products and all that are mixed with them, however far up.
func (m Mixtures) Takers(products []id.ID) []id.ID {
	return m.reach(products, func(product id.ID) (takers []id.ID) {
		for makes, mixture := range m {
			if slices.ContainsFunc(mixture.Parts, func(p MixturePart) bool { return p.Product == product }) {
				takers = append(takers, makes)
			}
		}
		return takers
	})
}

// Makings are some products and all that they are mixed of, however far down.
func (m Mixtures) Makings(products []id.ID) []id.ID {
	return m.reach(products, func(product id.ID) (parts []id.ID) {
		for _, p := range m[product].Parts {
			parts = append(parts, p.Product)
		}
		return parts
	})
}

// reach are some products and all that follow from them. Nil, which is all, stays so.
func (m Mixtures) reach(products []id.ID, next func(id.ID) []id.ID) []id.ID {
	reached := slices.Clone(products)
	for n := 0; n < len(reached); n++ {
		for _, product := range next(reached[n]) {
			if !slices.Contains(reached, product) {
				reached = append(reached, product)
			}
		}
	}
	return reached
}

// topDown are the mixtures, each before those that it takes. Where recipes go round in a circle
// one of them has to be the first: that is always the same one.
func (m Mixtures) topDown() (order []id.ID) {
	seen := map[id.ID]bool{}
	var visit func(makes id.ID)
	visit = func(makes id.ID) {
		if seen[makes] {
			return
		}
		seen[makes] = true
		for _, p := range m[makes].Parts {
			if _, mixed := m[p.Product]; mixed {
				visit(p.Product)
			}
		}
		order = append(order, makes)
	}
	for _, makes := range slices.SortedFunc(maps.Keys(m), id.Compare) {
		visit(makes)
	}
	slices.Reverse(order)
	return order
}
