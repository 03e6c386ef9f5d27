package materials

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/quantity"
)

// Package is a size that a product is sold in.
type Package struct {
	Label   string
	Content decimal.Decimal // in the product's unit
}

// most is the largest amount, in base units, that is taken in one go: a thousand cubic
// metres or a tonne is a slip of the decimal point, not a delivery.
var most = decimal.New(1_000_000, 0)

// Counted gives an amount in the unit that a product is counted in. Faults at the field:
// UNIT_OF_ANOTHER_MEASURE, QUANTITY_ABSURD.
func Counted(field string, q quantity.Quantity, unit quantity.Unit) (quantity.Quantity, error) {
	if q.Unit.Measure != unit.Measure {
		return q, fault.New(fault.Invalid, "UNIT_OF_ANOTHER_MEASURE",
			"%s is in %s, but this product is counted in %s; use a unit of %s.", field, q.Unit.Symbol, unit.Symbol, unit.Measure).
			At(field).With("unit", unit.Symbol)
	}
	base := q.InBase()
	if base.Value.GreaterThan(most) {
		return q, fault.New(fault.Invalid, "QUANTITY_ABSURD",
			"%s is %s, more than %s %s in one go; check the number and its unit.", field, base, most, unit.Symbol).At(field)
	}
	return base, nil
}

// Add makes the product's first version, with nothing on hand. Names lose the blanks at
// their ends, which phones like to add. Fault: PACKAGE_LABEL_TWICE.
func Add(p Product) (Product, []Fact, error) {
	var err error
	p.Name = strings.TrimSpace(p.Name)
	if p.Packages, err = toldApart(p.Packages); err != nil {
		return p, nil, err
	}
	facts := []Fact{Added{}}
	if p.Threshold.IsPositive() {
		facts = append(facts, ThresholdSet{})
	}
	return p, p.tell(facts...), nil
}

// toldApart keeps the labels of packages different, for a delivery is told by label.
func toldApart(packages []Package) ([]Package, error) {
	var apart []Package
	for i, p := range packages {
		field, label := fmt.Sprintf("packages[%d].label", i), strings.TrimSpace(p.Label)
		if _, taken := packageOf(apart, label); taken {
			return nil, fault.New(fault.Invalid, "PACKAGE_LABEL_TWICE", "Two packages are called %q; give each a label of its own.", label).At(field)
		}
		apart = append(apart, Package{Label: label, Content: p.Content})
	}
	return apart, nil
}

// packageOf finds a package by its label, without regard to case.
func packageOf(packages []Package, label string) (Package, bool) {
	for _, p := range packages {
		if strings.EqualFold(p.Label, strings.TrimSpace(label)) {
			return p, true
		}
	}
	return Package{}, false
}
