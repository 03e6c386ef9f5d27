package materials

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
)

// Recipe is what a product is mixed of.
type Recipe struct {
	ID      id.ID
	Name    string
	Makes   id.ID
	Parts   []RecipePart
	Keeps   time.Duration // its pot life, whole minutes; 0: by the product that it makes
	Note    string
	Version int64
}

// RecipePart is one product that goes into a mix: so many parts of the whole, or else so much to
// each unit of the whole.
type RecipePart struct {
	Product Product
	Parts   decimal.Decimal
	ToEach  decimal.Decimal // in the part's own unit
}

// Check refuses a recipe that cannot be mixed. Faults: PARTS_MISSING, PRODUCT_TWICE, MADE_OF_ITSELF,
// UNIT_OF_ANOTHER_MEASURE.
func (r Recipe) Check(makes Product) error {
	whole := false
	for n, p := range r.Parts {
		field := fmt.Sprintf("recipe.parts[%d].product", n)
		switch {
		case p.Product.ID == makes.ID:
			return fault.New(fault.Invalid, "MADE_OF_ITSELF", "%s cannot be mixed of itself; make it a product of its own.", makes.Name).At(field)
		case slices.ContainsFunc(r.Parts[:n], func(o RecipePart) bool { return o.Product.ID == p.Product.ID }):
			return fault.New(fault.Invalid, "PRODUCT_TWICE", "%s is in it twice; add the two up.", p.Product.Name).At(field)
		case p.Parts.IsPositive() && p.Product.Unit.Measure != makes.Unit.Measure:
			return fault.New(fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "%s is counted in %s and what it makes in %s, so it cannot be a part of the whole; say how much of it goes to each %s.",
				p.Product.Name, p.Product.Unit.Symbol, makes.Unit.Symbol, makes.Unit.Symbol).At(field)
		}
		whole = whole || p.Parts.IsPositive()
	}
	if !whole {
		return fault.New(fault.Invalid, "PARTS_MISSING", "No product is a part of the whole; give at least one of them in parts.").At("recipe.parts")
	}
	return nil
}

// Amounts are what a quantity of the whole takes of each part, in its unit: the parts of the whole
// by largest remainders in whole millilitres, milligrams or millimetres, so that they add up to it;
// what goes to each unit of it rounded up to such a step. Fault: QUANTITY_ABSURD.
func (r Recipe) Amounts(whole quantity.Quantity) ([]decimal.Decimal, error) {
	var weights []int64
	for _, p := range r.Parts {
		if p.Parts.IsPositive() {
			weights = append(weights, p.Parts.Shift(3).IntPart())
		}
	}
	shares, err := SplitOver(whole, weights)
	if err != nil {
		return nil, err
	}
	amounts := make([]decimal.Decimal, len(r.Parts))
	for n, p := range r.Parts {
		if p.Parts.IsPositive() {
			amounts[n], shares = shares[0], shares[1:]
			continue
		}
		one := step(p.Product.Unit)
		amounts[n] = p.ToEach.Mul(whole.Value).Div(one).Ceil().Mul(one)
	}
	return amounts, nil
}

// Mix is what was mixed at one time: a lot of the product that it makes.
type Mix struct {
	ID       id.ID
	Number   int64 // for the lid
	Recipe   id.ID
	Like     id.ID // the mix that it was made like; id.Nil: by the recipe
	Product  id.ID
	Lot      id.ID
	Quantity decimal.Decimal // as it was made
	At       time.Time
	Note     string
	Actor    string
}

// Into makes the entry of a part that goes into a mix.
func (m Mix) Into(e Entry, amount decimal.Decimal) Entry {
	e.Kind, e.Purpose, e.Quantity, e.Mix, e.At = WentOut, ForMixing, amount, m.ID, m.At
	return e
}

// Out makes the entry of what came of it, at the cost of its parts.
func (m Mix) Out(e Entry, keeps time.Duration, makes Product, parts []Posted) Entry {
	e.Kind, e.Purpose, e.Lot, e.Quantity, e.Mix, e.At = CameIn, ForMixing, e.ID, m.Quantity, m.ID, m.At
	for _, p := range parts {
		e.Cost -= p.Total()
	}
	e.Opened = true
	switch {
	case keeps > 0:
		e.Expires = m.At.Add(keeps)
	case makes.PotLife > 0:
		e.Expires = m.At.Add(makes.PotLife)
	default:
		e.Expires = makes.ExpiresOpened(m.At, time.Time{})
	}
	return e
}

// Like is the recipe by which a mix was really made: what went into it, in the proportions in which
// it did.
func (r Recipe) Like(parts []MixPart, whole quantity.Unit) Recipe {
	r.Parts = nil
	sum := decimal.Zero
	for _, p := range parts {
		if p.Product.Unit.Measure == whole.Measure {
			sum = sum.Add(p.Quantity)
		}
	}
	for _, p := range parts {
		part := RecipePart{Product: p.Product}
		if p.Product.Unit.Measure == whole.Measure {
			part.Parts = p.Quantity
		} else {
			part.ToEach = p.Quantity.Div(sum)
		}
		r.Parts = append(r.Parts, part)
	}
	return r
}

// MixPart is what went into a mix of one product.
type MixPart struct {
	Product  Product
	Quantity decimal.Decimal
	Posted   Posted
}
