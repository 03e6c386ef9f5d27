package stock

import (
	"context"
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// loadCourse reads what is on hand now and what comes and goes of it.
func (p *onePage) loadCourse(ctx context.Context, s *clients.Suite, now time.Time, zone *time.Location) error {
	var needs []*materialsv1.Need
	var orders []*materialsv1.Order
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() (err error) {
		p.Now, p.NoAdvice, err = nowOf(ctx, s, p.Product, zone)
		return err
	})
	g.Go(func() (err error) {
		needs, err = needsOf(ctx, s, p.Product.Name)
		return err
	})
	g.Go(func() (err error) {
		orders, err = openOrders(ctx, s, p.Product.Name)
		return p.NoCourse.Of(err)
	})
	if err := g.Wait(); err != nil {
		return err
	}
	p.Course = courseOf(p.Product.Name, p.Now.OnHand, needs, orders, now, zone)
	for _, o := range orders {
		for _, l := range o.Lines {
			if l.Product == p.Product.Name && exact(l.Ordered).GreaterThan(exact(l.Received)) {
				p.Forms.Lines = append(p.Forms.Lines, l)
			}
		}
	}
	return nil
}

// nowOf is what there is of a product and what is promised of it.
func nowOf(ctx context.Context, s *clients.Suite, p *materialsv1.Product, zone *time.Location) (can, bands.Missing, error) {
	var missing bands.Missing
	r, err := s.Restock.ListRestockAdvice(ctx, &materialsv1.ListRestockAdviceRequest{Product: p.Name})
	if err := missing.Of(err); err != nil {
		return can{}, missing, err
	}
	for _, a := range r.GetAdvice() {
		tags, err := tagsOf(ctx, s, r.Advice)
		return canOf(p, a, tags, zone), missing, err
	}
	return canOf(p, nil, nil, zone), missing, nil
}

func partProduct(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Materials.GetProduct(a.Context(), &materialsv1.GetProductRequest{Name: "products/" + a.PathValue("id")})
	if err != nil {
		return err
	}
	it := &onePage{Product: r.Product}
	if it.Now, it.NoAdvice, err = nowOf(a.Context(), a.Kit.Suite, r.Product, a.Voice.Zone); err != nil {
		return err
	}
	return a.ShowPart(w, "product", "now", it)
}

// loadLots reads the lots and where they stand.
func (p *onePage) loadLots(ctx context.Context, s *clients.Suite, now time.Time) error {
	var lots []*materialsv1.Lot
	var names map[string]string
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() (err error) {
		lots, err = lotsOf(ctx, s, p.Product.Name)
		return err
	})
	g.Go(func() (err error) {
		names, p.Forms.Places, err = placeNames(ctx, s)
		return err
	})
	if err := g.Wait(); err != nil {
		return err
	}
	for _, l := range lots {
		it := lot{Lot: l, Place: names[l.Place]}
		if l.ExpireTime != nil {
			it.Expires = l.ExpireTime.AsTime()
			it.Expired = !now.Before(it.Expires)
		}
		p.Lots = append(p.Lots, it)
	}
	return nil
}

// loadTrade reads who sells it and for how much, which not everybody may know.
func (p *onePage) loadTrade(ctx context.Context, s *clients.Suite) (err error) {
	p.Offers, err = clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Offer, string, error) {
		r, err := s.Suppliers.ListOffers(ctx, &materialsv1.ListOffersRequest{Product: p.Product.Name, PageSize: many, PageToken: token})
		return r.GetOffers(), r.GetNextPageToken(), err
	})
	if err := p.NoOffers.Of(err); err != nil || p.NoOffers != "" {
		return err
	}
	p.Forms.Suppliers, err = clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Supplier, string, error) {
		r, err := s.Suppliers.ListSuppliers(ctx, &materialsv1.ListSuppliersRequest{PageSize: many, PageToken: token})
		return r.GetSuppliers(), r.GetNextPageToken(), err
	})
	return p.NoOffers.Of(err)
}
