package server

import (
	"cmp"
	"context"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// ProposeOrders implements OrderService.
func (s *Server) ProposeOrders(ctx context.Context, r *materialsv1.ProposeOrdersRequest) (*materialsv1.ProposeOrdersResponse, error) {
	var only id.ID
	if r.Supplier != "" {
		var err error
		if only, err = id.One("supplier", r.Supplier, "suppliers"); err != nil {
			return nil, err
		}
	}
	var advice []materials.Advice
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		now := s.Shop.Now()
		if only != id.Nil {
			if _, err := store.New(q).Seller(ctx, only, nil, now); err != nil {
				return err
			}
		}
		advice, err = s.advise(ctx, q, nil, now)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ProposeOrdersResponse{}
	for _, bySupplier := range bySupplier(advice) {
		if only == id.Nil || only == bySupplier[0].Buy.Supplier {
			out.Proposals = append(out.Proposals, s.encodeProposal(bySupplier))
		}
	}
	return out, nil
}

// bySupplier groups what has to be ordered, by the supplier's name; each by urgency.
func bySupplier(advice []materials.Advice) (groups [][]materials.Advice) {
	at := map[id.ID]int{}
	for _, a := range advice {
		if a.Buy == nil {
			continue
		}
		n, known := at[a.Buy.Supplier]
		if !known {
			n = len(groups)
			at[a.Buy.Supplier], groups = n, append(groups, nil)
		}
		groups[n] = append(groups[n], a)
	}
	for _, g := range groups {
		slices.SortStableFunc(g, byUrgency)
	}
	slices.SortFunc(groups, func(a, b []materials.Advice) int { return cmp.Compare(a[0].Buy.SupplierName, b[0].Buy.SupplierName) })
	return groups
}

func (s *Server) encodeProposal(group []materials.Advice) *materialsv1.OrderProposal {
	var total money.Amount
	var first time.Time
	out := &materialsv1.OrderProposal{Supplier: id.Name("suppliers", group[0].Buy.Supplier), SupplierName: group[0].Buy.SupplierName}
	for _, a := range group {
		if total += a.Buy.Cost; first.IsZero() || a.By.Before(first) {
			first = a.By
		}
		out.Lines = append(out.Lines, &materialsv1.OrderProposal_Line{Product: id.Name("products", a.Product.ID), ProductName: a.Product.Name,
			PackageLabel: a.Buy.Package, Packages: int32(a.Buy.Count), Price: s.Shop.ToMoney(a.Buy.Price), Cost: s.Shop.ToMoney(a.Buy.Cost),
			OrderByDate: dateOf(a.By), Why: a.Why})
	}
	out.Total, out.OrderByDate = s.Shop.ToMoney(total), dateOf(first)
	return out
}
