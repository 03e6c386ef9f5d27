package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Offered is an offer beside who makes it and what it is of.
type Offered struct {
	Offer    materials.Offer
	Supplier materials.Supplier
	Product  materials.Product
}

// InsertSupplier writes a new supplier. Fault at commit: SUPPLIER_NAME_TAKEN.
func (s Store) InsertSupplier(ctx context.Context, to materials.Supplier) error {
	return s.q.InsertSupplier(ctx, storedb.InsertSupplierParams(toSupplierRow(to)))
}

// UpdateSupplier writes a supplier as it is now. Fault at commit: SUPPLIER_NAME_TAKEN.
func (s Store) UpdateSupplier(ctx context.Context, to materials.Supplier) error {
	row := toSupplierRow(to)
	return s.q.UpdateSupplier(ctx, storedb.UpdateSupplierParams{
		ID: row.ID, DisplayName: row.DisplayName, NameKey: row.NameKey, LeadDays: row.LeadDays, Note: row.Note, Retired: row.Retired, Version: row.Version})
}

// LockSupplier reads a supplier and keeps others from changing it and its offers until the
// transaction ends. Fault: SUPPLIER_NOT_FOUND.
func (s Store) LockSupplier(ctx context.Context, i id.ID) (materials.Supplier, error) {
	row, err := s.q.LockSupplier(ctx, i)
	return supplierOrNone(row.Supplier, err)
}

// Supplier reads a supplier. Fault: SUPPLIER_NOT_FOUND.
func (s Store) Supplier(ctx context.Context, i id.ID) (materials.Supplier, error) {
	row, err := s.q.GetSupplier(ctx, i)
	return supplierOrNone(row.Supplier, err)
}

// Suppliers reads up to limit suppliers whose names come after a name, by name; retired ones
// too if asked.
func (s Store) Suppliers(ctx context.Context, afterName string, retiredToo bool, limit int32) ([]materials.Supplier, error) {
	rows, err := s.q.ListSuppliers(ctx, storedb.ListSuppliersParams{AfterKey: wire.NameKey(afterName), RetiredToo: retiredToo, PageLimit: limit})
	suppliers := make([]materials.Supplier, len(rows))
	for n, row := range rows {
		suppliers[n] = fromSupplierRow(row.Supplier)
	}
	return suppliers, err
}

// SetOffer writes an offer in place of the one before, and its supplier as it is with it.
func (s Store) SetOffer(ctx context.Context, from materials.Supplier, o materials.Offer) error {
	row := storedb.UpsertOfferParams{SupplierID: o.Supplier, ProductID: o.Product, PackageLabel: o.Label, Content: o.Content, Article: o.Article, LeadDays: o.LeadDays}
	for _, b := range o.Breaks {
		row.BreakFrom, row.BreakPrice = append(row.BreakFrom, b.From), append(row.BreakPrice, int64(b.Price))
	}
	return errors.Join(s.UpdateSupplier(ctx, from), s.q.UpsertOffer(ctx, row))
}

// RemoveOffer removes an offer of a package, and says how the label was spelt. Fault:
// OFFER_NOT_FOUND.
func (s Store) RemoveOffer(ctx context.Context, supplier, product id.ID, label string) (string, error) {
	removed, err := s.q.DeleteOffer(ctx, storedb.DeleteOfferParams{SupplierID: supplier, ProductID: product, PackageLabel: label})
	if err == nil && len(removed) == 0 {
		return "", fault.New(fault.NotFound, "OFFER_NOT_FOUND",
			"The supplier offers no package %q of this product; look it up in the list of offers.", label).At("package_label")
	}
	if err != nil {
		return "", err
	}
	return removed[0], nil
}

// OfferKey is a place in the order of offers: names of the product and the supplier, and the
// label.
type OfferKey struct{ Product, Supplier, Label string }

// OfferFilter says which offers are meant; id.Nil: of any product, of any supplier.
type OfferFilter struct{ Product, Supplier id.ID }

// Offers reads up to limit offers after a place, by product, supplier and package.
func (s Store) Offers(ctx context.Context, f OfferFilter, after OfferKey, limit int32) ([]Offered, error) {
	rows, err := s.q.ListOffers(ctx, storedb.ListOffersParams{
		ProductID: unlessNil(f.Product), SupplierID: unlessNil(f.Supplier),
		AfterProduct: wire.NameKey(after.Product), AfterSupplier: wire.NameKey(after.Supplier), AfterLabel: after.Label, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	offers := make([]Offered, len(rows))
	for n, row := range rows {
		offers[n] = Offered{Offer: fromOfferRow(row.Offer), Supplier: fromSupplierRow(row.Supplier)}
		if offers[n].Product, err = fromRow(row.Product); err != nil {
			return nil, err
		}
	}
	return offers, nil
}

func toSupplierRow(s materials.Supplier) storedb.Supplier {
	return storedb.Supplier{ID: s.ID, DisplayName: s.Name, NameKey: wire.NameKey(s.Name), LeadDays: s.LeadDays, Note: s.Note, Retired: s.Retired, Version: s.Version}
}

func fromSupplierRow(row storedb.Supplier) materials.Supplier {
	return materials.Supplier{ID: row.ID, Name: row.DisplayName, LeadDays: row.LeadDays, Note: row.Note, Retired: row.Retired, Version: row.Version}
}

// supplierOrNone turns the answer for one row into the supplier.
func supplierOrNone(row storedb.Supplier, err error) (materials.Supplier, error) {
	if errors.Is(err, pgx.ErrNoRows) {
		return materials.Supplier{}, fault.New(fault.NotFound, "SUPPLIER_NOT_FOUND",
			"There is no such supplier; look its name up in the list.").At("supplier")
	}
	return fromSupplierRow(row), err
}

func fromOfferRow(row storedb.Offer) materials.Offer {
	o := materials.Offer{Supplier: row.SupplierID, Product: row.ProductID, Label: row.PackageLabel, Content: row.Content, Article: row.Article, LeadDays: row.LeadDays}
	for n, from := range row.BreakFrom {
		o.Breaks = append(o.Breaks, materials.PriceBreak{From: from, Price: money.Amount(row.BreakPrice[n])})
	}
	return o
}

// CheckSupplier refuses who is not on the list of suppliers, where the shop keeps one; nobody is
// named by an empty name. Fault: SUPPLIER_NOT_FOUND.
func (s Store) CheckSupplier(ctx context.Context, name string) error {
	if name == "" {
		return nil
	}
	row, err := s.q.KnowsSupplier(ctx, wire.NameKey(name))
	if err == nil && row.Kept && !row.Known {
		err = fault.New(fault.NotFound, "SUPPLIER_NOT_FOUND", "%q is not on the list of suppliers; check the name, or add them first.", name).At("supplier")
	}
	return err
}
