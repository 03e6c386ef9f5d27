package materials

import (
	"fmt"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// PriceBreak is what a package costs each, from so many on.
type PriceBreak struct {
	From  int32
	Price money.Amount
}

// Offer is what a supplier asks for a package of a product.
type Offer struct {
	Supplier, Product id.ID
	Label             string          // one of the product's packages
	Content           decimal.Decimal // of the package, in the product's unit
	Article           string          // the supplier's number
	Breaks            []PriceBreak    // rising, the first from 1 on
	LeadDays          *int32          // nil: the supplier's
}

// Offer sets what the supplier asks for a package of a product. Faults: SUPPLIER_RETIRED,
// PACKAGE_UNKNOWN, BREAKS_OUT_OF_ORDER, PRICE_NOT_POSITIVE.
func (s *Supplier) Offer(p Product, o Offer) (Offer, error) {
	if err := s.mayOffer(); err != nil {
		return o, err
	}
	pack, known := packageOf(p.Packages, o.Label)
	if !known {
		return o, fault.Of(p.packageUnknown("", o.Label)).At("package_label")
	}
	if err := rising(o.Breaks); err != nil {
		return o, err
	}
	o.Supplier, o.Product, o.Label, o.Content = s.ID, p.ID, pack.Label, pack.Content
	s.tell()
	return o, nil
}

// Remove says that the supplier no longer has it. That is taken of a retired one too.
func (s *Supplier) Remove() { s.tell() }

// rising keeps price breaks in an order in which one of them is always meant.
func rising(breaks []PriceBreak) error {
	for i, b := range breaks {
		field := fmt.Sprintf("price_breaks[%d]", i)
		switch {
		case i == 0 && b.From != 1:
			return fault.New(fault.Invalid, "BREAKS_OUT_OF_ORDER",
				"The first price holds from %d packages on; say what a single one costs.", b.From).At(field + ".from_packages")
		case i > 0 && b.From <= breaks[i-1].From:
			return fault.New(fault.Invalid, "BREAKS_OUT_OF_ORDER",
				"A price from %d packages on follows one from %d on; say each number of packages once, from the smallest up.", b.From, breaks[i-1].From).
				At(field + ".from_packages")
		case b.Price <= 0:
			return fault.New(fault.Invalid, "PRICE_NOT_POSITIVE", "The price from %d packages on must be above zero.", b.From).At(field + ".price")
		}
	}
	return nil
}
