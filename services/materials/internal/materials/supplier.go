package materials

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Supplier is somebody whom the shop buys from.
type Supplier struct {
	ID       id.ID
	Name     string
	LeadDays int32 // from order to delivery, as usual
	Note     string
	Retired  bool  // nothing more is bought there
	Version  int64 // counts its facts, those of its offers among them
}

// tell counts a fact of the supplier.
func (s *Supplier) tell() { s.Version++ }

// AddSupplier makes the supplier's first version.
func AddSupplier(s Supplier) Supplier {
	s.tell()
	return s
}

// Change says all of the supplier anew, but for its id and version.
func (s *Supplier) Change(to Supplier) {
	to.ID, to.Version = s.ID, s.Version
	*s = to
	s.tell()
}

// mayOffer refuses to buy where nothing is bought any more. Fault: SUPPLIER_RETIRED.
func (s *Supplier) mayOffer() error {
	if !s.Retired {
		return nil
	}
	return fault.New(fault.Precondition, "SUPPLIER_RETIRED",
		"Nothing is bought from %s any more; take another supplier, or change this one so that it is not retired.", s.Name).At("supplier")
}
