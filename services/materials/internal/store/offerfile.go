package store

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// AllOffers reads all offers of suppliers that are not retired, by product, supplier and package.
func (s Store) AllOffers(ctx context.Context) ([]materials.OfferLine, error) {
	rows, err := s.q.AllOffers(ctx)
	lines := make([]materials.OfferLine, len(rows))
	for n, row := range rows {
		lines[n] = materials.OfferLine{Offer: fromOfferRow(row.Offer), Supplier: fromSupplierRow(row.Supplier), Product: materials.Product{ID: row.Offer.ProductID, Name: row.ProductName}}
	}
	return lines, err
}

// Offering reads what is known of the suppliers and products of some names, by their keys.
func (s Store) Offering(ctx context.Context, suppliers, products []string) (materials.Offering, error) {
	known, err := s.Named(ctx, products)
	if err != nil {
		return materials.Offering{}, err
	}
	rows, err := s.q.SuppliersNamed(ctx, suppliers)
	if err != nil {
		return materials.Offering{}, err
	}
	return s.offering(ctx, known, rows)
}

// LockOffering is Offering, and keeps others from changing them until the transaction ends: the
// products before the suppliers, each by id.
func (s Store) LockOffering(ctx context.Context, suppliers, products []string) (materials.Offering, error) {
	known, err := s.LockNamed(ctx, products)
	if err != nil {
		return materials.Offering{}, err
	}
	rows, err := s.q.LockSuppliersNamed(ctx, suppliers)
	if err != nil {
		return materials.Offering{}, err
	}
	named := make([]storedb.SuppliersNamedRow, len(rows))
	for n, row := range rows {
		named[n] = storedb.SuppliersNamedRow(row)
	}
	return s.offering(ctx, known, named)
}

func (s Store) offering(ctx context.Context, products map[string]materials.Product, rows []storedb.SuppliersNamedRow) (materials.Offering, error) {
	known := materials.Offering{Products: products, Suppliers: map[string]materials.Supplier{}, Offers: map[materials.OfferKey]materials.Offer{}}
	ids := make([]id.ID, len(rows))
	for n, row := range rows {
		ids[n] = row.Supplier.ID
		known.Suppliers[wire.NameKey(row.Supplier.DisplayName)] = fromSupplierRow(row.Supplier)
	}
	offers, err := s.q.OffersOfSuppliers(ctx, ids)
	for _, row := range offers {
		o := fromOfferRow(row.Offer)
		known.Offers[o.Key()] = o
	}
	return known, err
}
