package server

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
)

func (s *Server) encode(p materials.Product) *materialsv1.Product {
	out := &materialsv1.Product{
		Name: id.Name("products", p.ID), DisplayName: p.Name, Unit: p.Unit.Symbol,
		RestockThreshold: encodeThreshold(p), OnHand: amountOf(p, p.OnHand), Value: s.Shop.ToMoney(p.Value),
		Low: p.Low, Etag: wire.Etag(p.Version), CoatingSheet: wire.ToSheet(p.Sheet), Details: encodeDetails(p.Details),
	}
	for _, pack := range p.Packages {
		out.Packages = append(out.Packages, &materialsv1.Package{Label: pack.Label, Content: amountOf(p, pack.Content)})
	}
	return out
}

// encodeThreshold writes no threshold as an absent one.
func encodeThreshold(p materials.Product) *typev1.Quantity {
	if p.Threshold.IsZero() {
		return nil
	}
	return amountOf(p, p.Threshold)
}

// encodeLot writes a lot; places says what people call those that lots stand in. By the moving
// average what is left of it is worth its share of all that is there.
func (s *Server) encodeLot(p materials.Product, m materials.Method, l materials.Lot, places map[id.ID]string) *materialsv1.Lot {
	out := &materialsv1.Lot{
		Name: id.Name("products", p.ID, "lots", l.ID), Received: amountOf(p, l.Quantity), Left: amountOf(p, l.Left),
		Cost: s.Shop.ToMoney(l.Cost), CostLeft: s.Shop.ToMoney(l.CostLeft),
		ReceiveTime: wire.ToInstant(l.ReceivedAt), Supplier: l.Supplier, Open: l.Opened, Closed: l.Closed, BatchCode: l.Code, Place: placeName(places[l.Place]),
	}
	if !l.Expires.IsZero() {
		out.ExpireTime = wire.ToInstant(l.Expires)
	}
	if m == materials.Average {
		out.CostLeft = s.Shop.ToMoney(p.Worth(l.Left))
	}
	if l.Root != l.ID {
		out.PartOf = id.Name("products", p.ID, "lots", l.Root)
	}
	if l.Mix != id.Nil {
		out.Mix = id.Name("mixes", l.Mix)
	}
	return out
}

func (s *Server) encodeIssue(p materials.Product, i materials.Issue) *materialsv1.Issue {
	out := &materialsv1.Issue{
		Name: id.Name("products", p.ID, "issues", i.ID), ProductName: p.Name,
		Stage: id.Name("pieces", i.To.Piece, "stages", i.To.ID), StageKind: i.To.Kind, Pass: i.To.Pass,
		Quantity: amountOf(p, i.Quantity), Cost: s.Shop.ToMoney(i.Cost()), IssueTime: wire.ToInstant(i.At), Actor: i.Actor, OverrideReason: i.Reason,
	}
	for _, d := range i.Parts {
		out.Draws = append(out.Draws, &materialsv1.Issue_Draw{
			Lot: id.Name("products", p.ID, "lots", d.Lot), Quantity: amountOf(p, d.Quantity.Neg()), Cost: s.Shop.ToMoney(-d.Cost)})
	}
	if i.Back != nil {
		out.TakenBack, out.TakeBackReason = true, i.Back.Reason
	}
	if i.Returned.Quantity.IsPositive() {
		out.Returned, out.ReturnedCost = amountOf(p, i.Returned.Quantity), s.Shop.ToMoney(i.Returned.Cost)
	}
	return out
}

func amountOf(p materials.Product, value decimal.Decimal) *typev1.Quantity {
	return wire.ToQuantity(value, p.Unit.Symbol)
}
