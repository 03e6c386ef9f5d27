package server

import (
	"cmp"
	"context"
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/stock"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// GetRestockPolicy implements RestockService.
func (s *Server) GetRestockPolicy(ctx context.Context, _ *materialsv1.GetRestockPolicyRequest) (*materialsv1.GetRestockPolicyResponse, error) {
	var p materials.RestockPolicy
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		p, err = store.New(q).RestockPolicy(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &materialsv1.GetRestockPolicyResponse{Policy: s.encodePolicy(p)}, nil
}

// SetRestockPolicy implements RestockService. All advice follows from it, so all alerts are
// looked at anew.
func (s *Server) SetRestockPolicy(ctx context.Context, r *materialsv1.SetRestockPolicyRequest) (*materialsv1.SetRestockPolicyResponse, error) {
	now := s.Shop.Now()
	cost, err := s.Shop.Money("order_cost", r.OrderCost)
	if err != nil {
		return nil, err
	}
	p := materials.RestockPolicy{Policy: stock.Policy{Service: r.ServiceLevel, Review: r.DaysBetweenLooks, OrderCost: cost, Holding: r.HoldingShare}}
	if err := p.Check(); err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SetRestockPolicyResponse, error) {
		st, p := store.New(tx), p
		was, err := st.LockRestockPolicy(ctx)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, was.Version); err != nil {
			return nil, err
		}
		p.Version = was.Version + 1
		tx.After(s.changedAll)
		return &materialsv1.SetRestockPolicyResponse{Policy: s.encodePolicy(p)}, st.SetRestockPolicy(ctx, p)
	})
}

func (s *Server) encodePolicy(p materials.RestockPolicy) *materialsv1.RestockPolicy {
	return &materialsv1.RestockPolicy{ServiceLevel: p.Service, DaysBetweenLooks: p.Review, OrderCost: s.Shop.ToMoney(p.OrderCost), HoldingShare: p.Holding, Etag: wire.Etag(p.Version)}
}

// ListRestockAdvice implements RestockService.
func (s *Server) ListRestockAdvice(ctx context.Context, r *materialsv1.ListRestockAdviceRequest) (*materialsv1.ListRestockAdviceResponse, error) {
	var advice []materials.Advice
	err := s.DB.Snapshot(ctx, func(q pg.Querier) error {
		product, err := productNamed(ctx, q, r.Product)
		if err != nil {
			return err
		}
		var only []id.ID
		if product != id.Nil {
			only = []id.ID{product}
		}
		advice, err = s.advise(ctx, q, only, s.Shop.Now())
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(advice, byUrgency)
	out := &materialsv1.ListRestockAdviceResponse{}
	for _, a := range advice {
		if a.Now || a.Halt != nil || !r.OnlyPressing {
			out.Advice = append(out.Advice, s.encodeAdvice(a))
		}
	}
	return out, nil
}

// advise gives advice on some products, or on all if nil; by name.
func (s *Server) advise(ctx context.Context, q pg.Querier, products []id.ID, now time.Time) ([]materials.Advice, error) {
	st := store.New(q)
	policy, err := st.RestockPolicy(ctx)
	if err != nil {
		return nil, err
	}
	mixtures, err := st.Mixtures(ctx)
	if err != nil {
		return nil, err
	}
	supplies, err := st.Supplies(ctx, mixtures.Takers(products), mixtures, now)
	if err != nil {
		return nil, err
	}
	all, err := policy.AdviseAll(supplies, mixtures, now, s.Shop.Zone)
	if products == nil {
		return all, err
	}
	return slices.DeleteFunc(all, func(a materials.Advice) bool { return !slices.Contains(products, a.Product.ID) }), err
}

// byUrgency is the order in which people see to them: by the day of the order, then by name.
func byUrgency(a, b materials.Advice) int {
	if a.By.IsZero() != b.By.IsZero() {
		if a.By.IsZero() {
			return 1
		}
		return -1
	}
	return cmp.Or(a.By.Compare(b.By), cmp.Compare(a.Product.Name, b.Product.Name))
}

func (s *Server) encodeAdvice(a materials.Advice) *materialsv1.RestockAdvice {
	out := &materialsv1.RestockAdvice{
		Product: id.Name("products", a.Product.ID), ProductName: a.Product.Name,
		OnHand: amountOf(a.Product, a.Fresh), Reserved: amountOf(a.Product, a.Reserved), OnOrder: amountOf(a.Product, a.OnOrder),
		DaysOfCover: int32(a.Cover), UseADay: amountOf(a.Product, materials.Few(a.UseADay)), LeadDays: a.Lead.Mean, LeadDaysDeviation: a.Lead.SD,
		Why: a.Why,
	}
	if a.Mixture == nil {
		out.OrderNow, out.OrderByDate = a.Now, dateOf(a.By)
	}
	if m := a.Mix; m != nil {
		out.Mixing = &materialsv1.RestockAdvice_Mixing{Recipe: id.Name("recipes", m.Recipe), RecipeName: m.Name, Quantity: amountOf(a.Product, m.Quantity), ByDate: dateOf(a.By)}
	}
	if h := a.Halt; h != nil {
		out.Halt = &materialsv1.RestockAdvice_Halt{Stage: id.Name("pieces", h.Piece, "stages", h.Stage), Title: h.Title, Piece: id.Name("pieces", h.Piece),
			Date: wire.ToDay(h.Day), Lacks: amountOf(a.Product, h.Lacks)}
	}
	if b := a.Buy; b != nil {
		out.Purchase = &materialsv1.RestockAdvice_Purchase{Supplier: id.Name("suppliers", b.Supplier), SupplierName: b.SupplierName, PackageLabel: b.Package,
			Packages: int32(b.Count), Price: s.Shop.ToMoney(b.Price), Cost: s.Shop.ToMoney(b.Cost), Quantity: amountOf(a.Product, b.Quantity())}
	}
	return out
}

// dateOf writes a calendar day; the zero time is absent.
func dateOf(day time.Time) *date.Date {
	if day.IsZero() {
		return nil
	}
	return wire.ToDay(day)
}
