package materials

import (
	"slices"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
)

// InUse is a package of the product that a supplier offers.
type InUse struct {
	Label    string
	Content  decimal.Decimal
	Supplier string // the name of one that offers it
}

// SetPackages says all sizes that the product is sold in. One that a supplier offers stays as it
// is, for the offer and the orders that follow from it are told by its label. Faults:
// PACKAGE_LABEL_TWICE, PACKAGE_IN_USE.
func (p *Product) SetPackages(packages []Package, offered []InUse) ([]Fact, error) {
	if err := p.maySell(packages, offered); err != nil {
		return nil, err
	}
	p.Packages = packages
	return p.Tell(Described{}), nil
}

func (p *Product) maySell(packages []Package, offered []InUse) error {
	if err := toldApart(packages); err != nil {
		return err
	}
	for _, o := range offered {
		stays := func(pack Package) bool { return pack.Label == o.Label && pack.Content.Equal(o.Content) }
		if !slices.ContainsFunc(packages, stays) {
			return fault.New(fault.Precondition, "PACKAGE_IN_USE",
				"%s offers %q of %s with %s %s in it; leave that package as it is, or remove the offer first.",
				o.Supplier, o.Label, p.Name, o.Content, p.Unit.Symbol).At("packages").With("package", o.Label)
		}
	}
	return nil
}
