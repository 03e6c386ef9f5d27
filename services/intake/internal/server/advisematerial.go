package server

import (
	"context"

	"github.com/shopspring/decimal"
	"google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/quantity"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/intake/internal/intake"
)

// priced asks what a product costs: what is there of it at the cost of its lots; else what came in last,
// be it used up. One that the shop does not have, that never came in or that cost nothing has no price.
func (s *Server) priced(ctx context.Context, n *workflowv1.MaterialNeed) (out intake.Need, err error) {
	out.Product = n.ProductName
	if n.Product == "" || n.Needed == nil {
		return out, nil
	}
	if out.Needed, err = inBase(n.Needed); err != nil {
		return out, err
	}
	cost, of, err := s.lastCost(ctx, n.Product)
	if err != nil || cost == nil {
		return out, err
	}
	if out.Cost, err = s.Shop.Money("cost", cost); err != nil || out.Cost == 0 {
		return out, err
	}
	out.Of, err = inBase(of)
	return out, err
}

// lastCost is what so much of a product cost; nil: nobody knows.
func (s *Server) lastCost(ctx context.Context, product string) (cost *money.Money, of *typev1.Quantity, err error) {
	r, err := s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: product})
	if fault.Is(err, "PRODUCT_NOT_FOUND") {
		return nil, nil, nil // it went between the two questions
	}
	if err != nil {
		return nil, nil, err
	}
	there, err := inBase(r.Product.OnHand)
	if err != nil || there.IsPositive() && (r.Product.Value.GetUnits() != 0 || r.Product.Value.GetNanos() != 0) {
		return r.Product.Value, r.Product.OnHand, err
	}
	lots := &materialsv1.ListLotsRequest{Product: product, ShowUsedUp: true, PageSize: 1000}
	for more := true; more; more = lots.PageToken != "" {
		page, err := s.Materials.ListLots(ctx, lots)
		if err != nil {
			return nil, nil, err
		}
		for _, lot := range page.Lots {
			if lot.PartOf == "" {
				cost, of = lot.Cost, lot.Received
			}
		}
		lots.PageToken = page.NextPageToken
	}
	return cost, of, nil
}

// inBase reads a quantity in the base unit of its measure; absent is zero.
func inBase(m *typev1.Quantity) (decimal.Decimal, error) {
	if m == nil {
		return decimal.Zero, nil
	}
	q, err := quantity.Parse(m.Value, m.Unit)
	if err != nil {
		return decimal.Zero, err
	}
	return q.InBase().Value, nil
}
