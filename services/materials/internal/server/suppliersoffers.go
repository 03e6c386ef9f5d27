package server

import (
	"context"
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// SetOffer implements SupplierService. The product's lock keeps its packages as they are.
func (s *Server) SetOffer(ctx context.Context, r *materialsv1.SetOfferRequest) (*materialsv1.SetOfferResponse, error) {
	now := s.Shop.Now()
	offer, err := s.decodeOffer(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SetOfferResponse, error) {
		st := store.New(tx)
		p, supplier, err := lockOffer(ctx, st, offer.Product, offer.Supplier)
		if err != nil {
			return nil, err
		}
		offer, err := supplier.Offer(p, offer)
		if err != nil {
			return nil, err
		}
		if err := st.SetOffer(ctx, supplier, offer); err != nil {
			return nil, err
		}
		set := s.encodeOffer(store.Offered{Offer: offer, Supplier: supplier, Product: p})
		return &materialsv1.SetOfferResponse{Offer: set}, s.tellSupplier(ctx, tx, supplier, s.offerSet(p, supplier, offer), now)
	})
}

// RemoveOffer implements SupplierService.
func (s *Server) RemoveOffer(ctx context.Context, r *materialsv1.RemoveOfferRequest) (*materialsv1.RemoveOfferResponse, error) {
	now := s.Shop.Now()
	productID, supplierID, err := decodeOfOffer(r.Product, r.Supplier)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.RemoveOfferResponse, error) {
		st := store.New(tx)
		p, supplier, err := lockOffer(ctx, st, productID, supplierID)
		if err != nil {
			return nil, err
		}
		label, err := st.RemoveOffer(ctx, supplierID, productID, wire.Name(r.PackageLabel))
		if err != nil {
			return nil, err
		}
		supplier.Remove()
		if err := st.UpdateSupplier(ctx, supplier); err != nil {
			return nil, err
		}
		return &materialsv1.RemoveOfferResponse{}, s.tellSupplier(ctx, tx, supplier, &eventsv1.OfferRemoved{
			SupplierId: supplierID.String(), SupplierName: supplier.Name, ProductId: productID.String(), ProductName: p.Name, PackageLabel: label}, now)
	})
}

// lockOffer locks the product of an offer, then its supplier. Faults: PRODUCT_NOT_FOUND,
// SUPPLIER_NOT_FOUND.
func lockOffer(ctx context.Context, st store.Store, product, supplier id.ID) (materials.Product, materials.Supplier, error) {
	p, err := st.Lock(ctx, product)
	if err != nil {
		return p, materials.Supplier{}, err
	}
	by, err := st.LockSupplier(ctx, supplier)
	return p, by, err
}

// ListOffers implements SupplierService.
func (s *Server) ListOffers(ctx context.Context, r *materialsv1.ListOffersRequest) (*materialsv1.ListOffersResponse, error) {
	filter, err := decodeOfferFilter(r)
	if err != nil {
		return nil, err
	}
	var after store.OfferKey
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var offers []store.Offered
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		offers, err = store.New(q).Offers(ctx, filter, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListOffersResponse{NextPageToken: page.Next(offers, size, func(o store.Offered) any {
		return store.OfferKey{Product: o.Product.Name, Supplier: o.Supplier.Name, Label: o.Offer.Label}
	})}
	for _, o := range offers {
		out.Offers = append(out.Offers, s.encodeOffer(o))
	}
	return out, nil
}

func (s *Server) decodeOffer(r *materialsv1.SetOfferRequest) (o materials.Offer, err error) {
	o = materials.Offer{Article: wire.Name(r.Article), LeadDays: r.LeadDays}
	if o.Product, o.Supplier, err = decodeOfOffer(r.Product, r.Supplier); err != nil {
		return o, err
	}
	if o.Label, err = nameOf("package_label", r.PackageLabel); err != nil {
		return o, err
	}
	for i, b := range r.PriceBreaks {
		price, err := s.Shop.Money(fmt.Sprintf("price_breaks[%d].price", i), b.Price)
		if err != nil {
			return o, err
		}
		o.Breaks = append(o.Breaks, materials.PriceBreak{From: b.FromPackages, Price: price})
	}
	return o, nil
}

func decodeOfOffer(productName, supplierName string) (product, supplier id.ID, err error) {
	if product, err = id.One("product", productName, "products"); err != nil {
		return product, supplier, err
	}
	supplier, err = id.One("supplier", supplierName, "suppliers")
	return product, supplier, err
}

// decodeOfferFilter reads an empty name as any.
func decodeOfferFilter(r *materialsv1.ListOffersRequest) (f store.OfferFilter, err error) {
	if r.Product != "" {
		if f.Product, err = id.One("product", r.Product, "products"); err != nil {
			return f, err
		}
	}
	if r.Supplier != "" {
		f.Supplier, err = id.One("supplier", r.Supplier, "suppliers")
	}
	return f, err
}

func (s *Server) encodeOffer(o store.Offered) *materialsv1.Offer {
	out := &materialsv1.Offer{
		Supplier: id.Name("suppliers", o.Supplier.ID), SupplierName: o.Supplier.Name, SupplierRetired: o.Supplier.Retired,
		Product: id.Name("products", o.Product.ID), ProductName: o.Product.Name,
		PackageLabel: o.Offer.Label, Content: amountOf(o.Product, o.Offer.Content), Article: o.Offer.Article, LeadDays: o.Offer.LeadDays,
	}
	for _, b := range o.Offer.Breaks {
		out.PriceBreaks = append(out.PriceBreaks, &materialsv1.PriceBreak{FromPackages: b.From, Price: s.Shop.ToMoney(b.Price)})
	}
	return out
}

func (s *Server) offerSet(p materials.Product, supplier materials.Supplier, o materials.Offer) *eventsv1.OfferSet {
	e := &eventsv1.OfferSet{
		SupplierId: supplier.ID.String(), SupplierName: supplier.Name, ProductId: p.ID.String(), ProductName: p.Name,
		PackageLabel: o.Label, Content: amountOf(p, o.Content), LeadDays: o.LeadDays,
	}
	for _, b := range o.Breaks {
		e.PriceBreaks = append(e.PriceBreaks, &eventsv1.OfferSet_PriceBreak{FromPackages: b.From, Price: s.Shop.ToMoney(b.Price)})
	}
	return e
}
