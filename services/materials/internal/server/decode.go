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
)

// decodeProduct reads a request into a product that is counted in the base unit of the
// unit asked for.
func decodeProduct(r *materialsv1.AddProductRequest) (p materials.Product, err error) {
	unit, err := quantity.UnitOf(r.Unit)
	if f := fault.Of(err); f != nil {
		return p, f.At("unit")
	}
	p = materials.Product{ID: id.New(), Name: r.DisplayName, Unit: unit.Base()}
	for i, pack := range r.Packages {
		content, err := counted(fmt.Sprintf("packages[%d].content", i), pack.Content, p.Unit)
		if err != nil {
			return p, err
		}
		p.Packages = append(p.Packages, materials.Package{Label: pack.Label, Content: content})
	}
	if r.RestockThreshold != nil {
		p.Threshold, err = counted("restock_threshold", r.RestockThreshold, p.Unit)
	}
	return p, err
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
	d = materials.Delivery{Lot: id.New(), Label: r.GetPackages().GetLabel(), Count: r.GetPackages().GetCount(), Supplier: r.Supplier}
	if product, err = id.One("product", r.Product, "products"); err != nil {
		return product, d, err
	}
	if r.GetPackages() == nil {
		if d.Amount, err = wire.Amount("quantity", r.GetQuantity()); err != nil {
			return product, d, err
		}
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
