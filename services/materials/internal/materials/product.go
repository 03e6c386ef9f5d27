package materials

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
)

// Package is a size that a product is sold in.
type Package struct {
	Label   string
	Content decimal.Decimal // in the product's unit
}

// Add makes the product's first version, with nothing on hand. Fault:
// PACKAGE_LABEL_TWICE.
func Add(p Product) (Product, []Fact, error) {
	if err := toldApart(p.Packages); err != nil {
		return p, nil, err
	}
	facts := []Fact{Added{}}
	if p.Threshold.IsPositive() {
		facts = append(facts, ThresholdSet{})
	}
	return p, p.Tell(facts...), nil
}

// toldApart keeps the labels of packages different, for a delivery is told by label.
func toldApart(packages []Package) error {
	for i, p := range packages {
		if _, taken := packageOf(packages[:i], p.Label); taken {
			return fault.New(fault.Invalid, "PACKAGE_LABEL_TWICE", "Two packages are called %q; give each a label of its own.", p.Label).
				At(fmt.Sprintf("packages[%d].label", i))
		}
	}
	return nil
}

// packageOf finds a package by its label, without regard to case.
func packageOf(packages []Package, label string) (Package, bool) {
	for _, p := range packages {
		if strings.EqualFold(p.Label, label) {
			return p, true
		}
	}
	return Package{}, false
}
