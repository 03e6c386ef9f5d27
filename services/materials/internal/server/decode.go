package server

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// decodeProduct reads a request into a product that is counted in the base unit of the
// unit asked for.
func decodeProduct(r *materialsv1.AddProductRequest) (p materials.Product, err error) {
	unit, err := quantity.UnitOf(r.Unit)
	if f := fault.Of(err); f != nil {
		return p, f.At("unit")
	}
	p = materials.Product{ID: id.New(), Unit: unit.Base()}
	if p.Name, err = nameOf("display_name", r.DisplayName); err != nil {
		return p, err
	}
	if p.Packages, err = decodePackages(r.Packages, p.Unit); err != nil {
		return p, err
	}
	if r.RestockThreshold != nil {
		p.Threshold, err = counted("restock_threshold", r.RestockThreshold, p.Unit)
	}
	return p, err
}

func decodePackages(all []*materialsv1.Package, unit quantity.Unit) (packages []materials.Package, err error) {
	for i, m := range all {
		pack, err := decodePackage(fmt.Sprintf("packages[%d]", i), m, unit)
		if err != nil {
			return nil, err
		}
		packages = append(packages, pack)
	}
	return packages, nil
}

func decodePackage(field string, m *materialsv1.Package, unit quantity.Unit) (p materials.Package, err error) {
	if p.Label, err = nameOf(field+".label", m.Label); err != nil {
		return p, err
	}
	p.Content, err = counted(field+".content", m.Content, unit)
	return p, err
}

// nameOf reads a name as people mean it. The contract refuses what is blank to it; there
// are more blanks than it knows.
func nameOf(field, typed string) (string, error) {
	name := wire.Name(typed)
	if name == "" {
		return "", fault.New(fault.Invalid, "INVALID_FIELD", "%s must say something.", fault.The(field)).At(field)
	}
	return name, nil
}

func counted(field string, m *typev1.Quantity, unit quantity.Unit) (decimal.Decimal, error) {
	q, err := wire.Amount(field, m)
	if err != nil {
		return decimal.Zero, err
	}
	q, err = materials.Counted(field, q, unit)
	return q.Value, err
}

// decodeThreshold reads an absent threshold as the zero quantity.
func decodeThreshold(r *materialsv1.SetRestockThresholdRequest) (product id.ID, threshold quantity.Quantity, err error) {
	if product, err = id.One("product", r.Product, "products"); err != nil {
		return product, threshold, err
	}
	if r.RestockThreshold != nil {
		threshold, err = wire.Amount("restock_threshold", r.RestockThreshold)
	}
	return product, threshold, err
}

// decodeReceipt reads what one lot is, cost and came with.
func (s *Server) decodeReceipt(r *materialsv1.ReceiveStockRequest) (product id.ID, e materials.Entry, amount materials.Packed, err error) {
	e.Supplier = wire.Name(r.Supplier)
	if product, err = id.One("product", r.Product, "products"); err != nil {
		return product, e, amount, err
	}
	if amount, err = packed("", r.GetPackages(), r.GetQuantity()); err != nil {
		return product, e, amount, err
	}
	if e.Cost, err = s.Shop.Money("cost", r.Cost); err != nil {
		return product, e, amount, err
	}
	e.At, err = s.Shop.Instant("receive_time", r.ReceiveTime)
	return product, e, amount, err
}

// packed reads an amount that is so many packages, or else a quantity, at fields under a prefix.
func packed(prefix string, packs *materialsv1.ReceiveStockRequest_Packages, q *typev1.Quantity) (p materials.Packed, err error) {
	if packs != nil {
		p.Count = packs.Count
		p.Label, err = nameOf(prefix+"packages.label", packs.Label)
		return p, err
	}
	p.Quantity, err = wire.Amount(prefix+"quantity", q)
	return p, err
}

// issuing is what is asked to go to a stage or a batch.
type issuing struct {
	product, lot id.ID
	amount       quantity.Quantity
	at           time.Time
	reason       string // why it is used though it has expired
}

// entry is the begun entry as it is asked for.
func (i issuing) entry(e materials.Entry) materials.Entry {
	e.Lot, e.Reason = i.lot, i.reason
	if i.reason != "" {
		e.Takes = materials.Expired
	}
	return e
}

func (s *Server) decodeIssuing(product string, q *typev1.Quantity, lot, reason string, at *timestamppb.Timestamp) (issuing, error) {
	i, err := s.decodeTaken(product, q, lot, "issue_time", at)
	i.reason = wire.Name(reason)
	return i, err
}

// lotOf reads a lot of a product; an empty name is none. Fault: LOT_NOT_FOUND.
func lotOf(product id.ID, name string) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	ids, err := id.FromName("lot", name, "products", "lots")
	if err != nil {
		return id.Nil, err
	}
	if ids[0] != product {
		return id.Nil, fault.New(fault.NotFound, "LOT_NOT_FOUND", "That lot is of another product; look it up in the list of this one's lots.").At("lot")
	}
	return ids[1], nil
}

// decodeStage reads which stage it is for; what workflow and intake know of it is asked for later.
func decodeStage(name string) (materials.Stage, error) {
	ids, err := id.FromName("stage", name, "pieces", "stages")
	if err != nil {
		return materials.Stage{}, err
	}
	return materials.Stage{Piece: ids[0], ID: ids[1]}, nil
}

// decodeStageOrNone reads an empty name as none.
func decodeStageOrNone(name string) (materials.Stage, error) {
	if name == "" {
		return materials.Stage{}, nil
	}
	return decodeStage(name)
}

// decodeBack reads which issue it is that something comes back of.
func decodeBack(name string) (product, issue id.ID, err error) {
	ids, err := id.FromName("issue", name, "products", "issues")
	if err != nil {
		return product, issue, err
	}
	return ids[0], ids[1], nil
}

// decodeFilter reads an empty name as any.
func decodeFilter(r *materialsv1.ListIssuesRequest) (f store.EntryFilter, err error) {
	if r.Product != "" {
		if f.Product, err = id.One("product", r.Product, "products"); err != nil {
			return f, err
		}
	}
	if r.Piece != "" {
		f.Piece, err = id.One("piece", r.Piece, "pieces")
	}
	return f, err
}
