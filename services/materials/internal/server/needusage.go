package server

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// usage is what was taken of a product, with what it is called.
type usage struct {
	materials.Usage
	store.Named
}

// usageKey is a place in their order, by the products' names.
type usageKey struct {
	Name   string
	ID     id.ID
	Method string
}

func (u usage) key() usageKey { return usageKey{Name: u.Key, ID: u.ID, Method: u.Method} }

func (k usageKey) compare(o usageKey) int {
	return cmp.Or(cmp.Compare(k.Name, o.Name), slices.Compare(k.ID[:], o.ID[:]), cmp.Compare(k.Method, o.Method))
}

// GetUsage implements NeedService.
func (s *Server) GetUsage(ctx context.Context, r *materialsv1.GetUsageRequest) (*materialsv1.GetUsageResponse, error) {
	product, err := anyOf("product", r.Product, "products")
	if err != nil {
		return nil, err
	}
	var after usageKey
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	var methods []string
	if r.Method != "" {
		methods = []string{r.Method}
	}
	all, err := s.usage(ctx, product, methods)
	if err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	all = slices.DeleteFunc(all, func(u usage) bool { return u.key().compare(after) <= 0 })
	all = all[:min(len(all), int(size))]
	out := &materialsv1.GetUsageResponse{NextPageToken: page.Next(all, size, func(u usage) any { return u.key() })}
	for _, u := range all {
		out.Usage = append(out.Usage, encodeUsage(u))
	}
	return out, nil
}

// usage reads what was taken, by the names of the products. Of one product it needs the others
// too, for it is learned from them where its own stages are few.
func (s *Server) usage(ctx context.Context, product id.ID, methods []string) (out []usage, err error) {
	var taken []materials.Taken
	var named []store.Named
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		if err := known(ctx, q, product); err != nil {
			return err
		}
		if taken, err = store.New(q).Taken(ctx, methods); err != nil {
			return err
		}
		named, err = store.New(q).NamedProducts(ctx, productsOf(taken))
		return err
	})
	if err != nil {
		return nil, err
	}
	learned, err := materials.Usual.Learn(taken)
	for of, u := range learned {
		i := slices.IndexFunc(named, func(n store.Named) bool { return n.ID == of.Product })
		if i >= 0 && (product == id.Nil || product == of.Product) {
			out = append(out, usage{u, named[i]})
		}
	}
	slices.SortFunc(out, func(a, b usage) int { return a.key().compare(b.key()) })
	return out, err
}

func productsOf(taken []materials.Taken) []id.ID {
	seen, out := map[id.ID]bool{}, []id.ID{}
	for _, t := range taken {
		if !seen[t.Product] {
			seen[t.Product] = true
			out = append(out, t.Product)
		}
	}
	return out
}

func encodeUsage(u usage) *materialsv1.Usage {
	return &materialsv1.Usage{
		Product: id.Name("products", u.ID), ProductName: u.Name, Method: u.Method, StageCount: int32(u.Stages), LeftOutCount: int32(u.LeftOut),
		Planned: wire.ToQuantity(u.Planned, u.Unit), Actual: wire.ToQuantity(u.Actual, u.Unit), Ratio: u.Ratio(),
		UsageFactor: u.Factor.Value, UsageFactorLow: u.Factor.Low, UsageFactorHigh: u.Factor.High}
}

// newestStage is before all stages that were finished.
var newestStage = store.StageUsagePlace{At: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}

// ListStageUsage implements NeedService.
func (s *Server) ListStageUsage(ctx context.Context, r *materialsv1.ListStageUsageRequest) (*materialsv1.ListStageUsageResponse, error) {
	product, err := id.One("product", r.Product, "products")
	if err != nil {
		return nil, err
	}
	before := newestStage
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var p materials.Product
	var used []store.StageUsage
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		if p, err = store.New(q).Get(ctx, product); err != nil {
			return err
		}
		used, err = store.New(q).StageUsage(ctx, product, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListStageUsageResponse{NextPageToken: page.Next(used, size, func(u store.StageUsage) any { return u.Place() })}
	for _, u := range used {
		out.Stages = append(out.Stages, encodeStageUsage(p, u))
	}
	return out, nil
}

func encodeStageUsage(p materials.Product, u store.StageUsage) *materialsv1.StageUsage {
	out := &materialsv1.StageUsage{
		Stage: id.Name("pieces", u.Piece, "stages", u.Stage), StageTitle: u.Title, Pass: u.Pass, Method: u.Method, DoneTime: wire.ToInstant(u.DoneAt),
		Planned: unlessNone(u.Planned, u.Unit), Actual: amountOf(p, u.Actual), LeftOutBecause: leftOut(p, u)}
	if u.Planned.IsPositive() && u.Unit == p.Unit.Symbol {
		out.Ratio = u.Actual.Div(u.Planned).InexactFloat64()
	}
	return out
}

// leftOut says why nothing is learned from a stage; empty: something is.
func leftOut(p materials.Product, u store.StageUsage) string {
	switch t := (materials.Taken{Planned: u.Planned, Actual: u.Actual}); {
	case u.Planned.IsZero():
		return "Nobody knew how much it would take."
	case u.Unit != p.Unit.Symbol:
		return fmt.Sprintf("It was planned in %s, and the product is counted in %s.", u.Unit, p.Unit.Symbol)
	case !u.PutOn.IsPositive():
		return "Nothing was issued to it."
	case u.Pass > 1:
		return "It was done over: that takes as much as the damage asks for."
	case t.FarOff():
		return "It is more than ten times more or less than planned; look for a mistake in its entries."
	}
	return ""
}
