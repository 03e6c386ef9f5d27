package materials

import (
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Seller is whom an order goes to, with what they offer of some products.
type Seller struct {
	ID       id.ID
	Name     string
	LeadDays int
	Retired  bool
	Offers   map[id.ID][]Offered // by product
}

// Offer finds a package by its label, without regard to case: one that the seller offers, or else
// one that the product has. Fault: PACKAGE_UNKNOWN.
func (s Seller) Offer(p Product, label string) (Offered, error) {
	for _, o := range s.Offers[p.ID] {
		if strings.EqualFold(o.Package, label) {
			return o, nil
		}
	}
	if pack, there := packageOf(p.Packages, label); there {
		return Offered{Supplier: s.ID, SupplierName: s.Name, Package: pack.Label, Content: pack.Content, LeadDays: s.LeadDays}, nil
	}
	return Offered{}, fault.New(fault.Invalid, "PACKAGE_UNKNOWN", "%s has no package %q, and %s offers none; add it to the product.", p.Name, label, s.Name)
}

// Expected is by when all of an order is expected: the end of a day that somebody said, or else of
// the day so many days after the order. Fault: EXPECTED_BEFORE_ORDERED.
func Expected(ordered, said time.Time, days int, zone *time.Location) (time.Time, error) {
	first := dayOf(ordered, zone)
	switch {
	case said.IsZero():
		said = first.AddDate(0, 0, days)
	case said.Before(first):
		return said, fault.New(fault.Invalid, "EXPECTED_BEFORE_ORDERED", "It is expected before it was ordered; check the dates.").At("expect_date")
	}
	return endOf(said, zone).Add(-time.Second), nil
}
