package server

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

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
	for i, m := range r.Packages {
		pack, err := decodePackage(fmt.Sprintf("packages[%d]", i), m, p.Unit)
		if err != nil {
			return p, err
		}
		p.Packages = append(p.Packages, pack)
	}
	if r.RestockThreshold != nil {
		p.Threshold, err = counted("restock_threshold", r.RestockThreshold, p.Unit)
	}
	return p, err
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
		return "", fault.New(fault.Invalid, "INVALID_FIELD", "%s must say something.", field).At(field)
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

func (s *Server) decodeDelivery(r *materialsv1.ReceiveStockRequest) (product id.ID, d materials.Delivery, err error) {
	d = materials.Delivery{Lot: id.New(), Count: r.GetPackages().GetCount(), Supplier: wire.Name(r.Supplier)}
	if product, err = id.One("product", r.Product, "products"); err != nil {
		return product, d, err
	}
	if packs := r.GetPackages(); packs != nil {
		d.Label, err = nameOf("packages.label", packs.Label)
	} else {
		d.Amount, err = wire.Amount("quantity", r.GetQuantity())
	}
	if err != nil {
		return product, d, err
	}
	if d.Cost, err = s.Shop.Money("cost", r.Cost); err != nil {
		return product, d, err
	}
	d.At, err = s.Shop.Instant("receive_time", r.ReceiveTime)
	return product, d, err
}

// decodeIssue reads which stage it is for; what workflow and intake know of the stage is
// asked for later.
func (s *Server) decodeIssue(r *materialsv1.IssueMaterialRequest) (product id.ID, i materials.Issue, amount quantity.Quantity, err error) {
	if product, err = id.One("product", r.Product, "products"); err != nil {
		return product, i, amount, err
	}
	if amount, err = wire.Amount("quantity", r.Quantity); err != nil {
		return product, i, amount, err
	}
	ids, err := id.FromName("stage", r.Stage, "pieces", "stages")
	if err != nil {
		return product, i, amount, err
	}
	var at time.Time
	at, err = s.Shop.Instant("issue_time", r.IssueTime)
	return product, materials.Issue{ID: id.New(), Stage: materials.Stage{Piece: ids[0], ID: ids[1]}, At: at}, amount, err
}

// decodeBatchIssue reads which batch it is for; what workflow and intake know of its stages is
// asked for later.
func (s *Server) decodeBatchIssue(r *materialsv1.IssueToBatchRequest) (product, batch id.ID, amount quantity.Quantity, at time.Time, err error) {
	if product, err = id.One("product", r.Product, "products"); err != nil {
		return product, batch, amount, at, err
	}
	if amount, err = wire.Amount("quantity", r.Quantity); err != nil {
		return product, batch, amount, at, err
	}
	if batch, err = id.One("batch", r.Batch, "batches"); err != nil {
		return product, batch, amount, at, err
	}
	at, err = s.Shop.Instant("issue_time", r.IssueTime)
	return product, batch, amount, at, err
}

// decodeTakeBack reads what is taken back and why; who says so is known to the caller.
func (s *Server) decodeTakeBack(r *materialsv1.TakeBackIssueRequest) (product, issue id.ID, why materials.TakeBack, err error) {
	ids, err := id.FromName("issue", r.Issue, "products", "issues")
	if err != nil {
		return product, issue, why, err
	}
	at, err := s.Shop.Instant("take_back_time", r.TakeBackTime)
	return ids[0], ids[1], materials.TakeBack{Reason: r.Reason, At: at}, err
}

// decodeFilter reads an empty name as any.
func decodeFilter(r *materialsv1.ListIssuesRequest) (f store.IssueFilter, err error) {
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
