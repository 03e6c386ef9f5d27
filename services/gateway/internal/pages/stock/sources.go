package stock

import (
	"context"
	"net/http"
	"net/url"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// sourcing is where stock comes from and where it goes: suppliers, places, and how the shop buys and counts.
type sourcing struct {
	Tab         string
	Suppliers   []supplies
	NoSuppliers bands.Missing
	Places      []placed
	Kinds       []string
	Policy      policy
	NoPolicy    bands.Missing
	Counts      *materialsv1.StockPolicy
	NoCounts    bands.Missing
	Units       []string
	Open        string // which form was refused; of one of a list its name beside it: "supplier suppliers/1"
	Typed       url.Values
}

// supplies is a supplier with how long it takes as templates count it.
type supplies struct {
	*materialsv1.Supplier
	Days int
}

// placed is a place with the word of what it is.
type placed struct {
	*materialsv1.Place
	Word string
}

// Val is what a field shows: what was typed if its form was refused, or else what it has.
func (s sourcing) Val(form, field, usual string) string {
	if s.Open == form && s.Typed.Has(field) {
		return s.Typed.Get(field)
	}
	return usual
}

func showSources(w http.ResponseWriter, a *web.Asked) error {
	return showSourcesWith(w, a, "", nil)
}

func showSourcesWith(w http.ResponseWriter, a *web.Asked, form string, refused error) error {
	it := sourcing{Tab: "sources", Kinds: placeKinds, Units: typed.Units, Open: form, Typed: a.PostForm}
	if err := it.load(a.Context(), a); err != nil {
		return err
	}
	return a.ShowRefused(w, "stock", a.Voice.T("sources.title"), it, refused)
}

func (s *sourcing) load(ctx context.Context, a *web.Asked) error {
	suite := a.Kit.Suite
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error {
		all, err := clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Supplier, string, error) {
			r, err := suite.Suppliers.ListSuppliers(ctx, &materialsv1.ListSuppliersRequest{ShowRetired: true, PageSize: many, PageToken: token})
			return r.GetSuppliers(), r.GetNextPageToken(), err
		})
		for _, one := range all {
			s.Suppliers = append(s.Suppliers, supplies{one, int(one.LeadDays)})
		}
		return s.NoSuppliers.Of(err)
	})
	g.Go(func() error {
		_, all, err := placeNames(ctx, suite)
		for _, p := range all {
			s.Places = append(s.Places, placed{p, wordOf(p.Kind, "KIND_")})
		}
		return err
	})
	g.Go(func() error {
		r, err := suite.Restock.GetRestockPolicy(ctx, &materialsv1.GetRestockPolicyRequest{})
		s.Policy = policyOf(a.Voice, r.GetPolicy())
		return s.NoPolicy.Of(err)
	})
	g.Go(func() error {
		r, err := suite.Stock.GetStockPolicy(ctx, &materialsv1.GetStockPolicyRequest{})
		s.Counts = r.GetPolicy()
		return s.NoCounts.Of(err)
	})
	return g.Wait()
}

// sources answers a form of this page: the page again when it was refused, and else after it.
func sources(w http.ResponseWriter, a *web.Asked, form, said string, err error) error {
	if fault.Of(err) != nil {
		return showSourcesWith(w, a, form, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/sources", said)
}
