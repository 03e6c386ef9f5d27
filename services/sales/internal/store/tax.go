package store

import (
	"context"
	"errors"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// LockSettings keeps others from changing places of sales tax and the cash step until the transaction ends.
func (s Store) LockSettings(ctx context.Context) error { return s.q.LockSaleSettings(ctx) }

// TaxPlaces reads places of sales tax by name, those that were retired only if they are asked for.
func (s Store) TaxPlaces(ctx context.Context, retired bool) ([]sales.TaxPlace, error) {
	return s.taxPlaces(ctx, storedb.ListTaxPlacesParams{ShowRetired: retired})
}

// TaxPlace reads a place. Fault: TAX_PLACE_NOT_FOUND.
func (s Store) TaxPlace(ctx context.Context, place id.ID) (sales.TaxPlace, error) {
	return s.oneTaxPlace(ctx, storedb.ListTaxPlacesParams{ShowRetired: true, Ids: []id.ID{place}})
}

// TaxPlaceNamed reads the place of a folded name. Fault: TAX_PLACE_NOT_FOUND.
func (s Store) TaxPlaceNamed(ctx context.Context, key string) (sales.TaxPlace, error) {
	return s.oneTaxPlace(ctx, storedb.ListTaxPlacesParams{ShowRetired: true, Keys: []string{key}})
}

func (s Store) oneTaxPlace(ctx context.Context, of storedb.ListTaxPlacesParams) (sales.TaxPlace, error) {
	all, err := s.taxPlaces(ctx, of)
	if err == nil && len(all) == 0 {
		err = sales.ErrNoTaxPlace
	}
	if err != nil {
		return sales.TaxPlace{}, err
	}
	return all[0], nil
}

func (s Store) taxPlaces(ctx context.Context, of storedb.ListTaxPlacesParams) (out []sales.TaxPlace, err error) {
	if of.Ids == nil {
		of.Ids = []id.ID{} // null is no list to the database, and not an empty one
	}
	if of.Keys == nil {
		of.Keys = []string{}
	}
	rows, err := s.q.ListTaxPlaces(ctx, of)
	for _, row := range rows {
		if len(out) == 0 || out[len(out)-1].ID != row.ID {
			out = append(out, sales.TaxPlace{ID: row.ID, Name: row.DisplayName, Key: row.NameKey, Default: row.IsDefault, Retired: row.Retired, Version: row.Version})
		}
		p := &out[len(out)-1]
		p.Rates = append(p.Rates, sales.TaxRate{From: row.FromDay, Percent: row.Percent, DeliveryTaxed: row.DeliveryTaxed})
	}
	return out, err
}

// SaveTaxPlace writes a place with its rates; if it is the default one, no other is.
func (s Store) SaveTaxPlace(ctx context.Context, p sales.TaxPlace) (err error) {
	if p.Default {
		err = s.q.ClearDefaultTaxPlace(ctx, p.ID)
	}
	err = errors.Join(err, s.q.SaveTaxPlace(ctx, storedb.SaveTaxPlaceParams{
		ID: p.ID, NameKey: p.Key, DisplayName: p.Name, IsDefault: p.Default, Retired: p.Retired, Version: p.Version}))
	for _, r := range p.Rates {
		err = errors.Join(err, s.q.SaveTaxRate(ctx, storedb.SaveTaxRateParams{PlaceID: p.ID, FromDay: r.From, Percent: r.Percent, DeliveryTaxed: r.DeliveryTaxed}))
	}
	return err
}

// TaxReport reads what was sold and taxed from an instant until before another, by place and rate.
func (s Store) TaxReport(ctx context.Context, from, until time.Time) (out []sales.TaxRow, err error) {
	rows, err := s.q.TaxReport(ctx, storedb.TaxReportParams{FromAt: from, UntilAt: until})
	for _, r := range rows {
		out = append(out, sales.TaxRow{Place: r.TaxPlace, Percent: r.TaxPercent, Gross: money.Amount(r.Gross), Exempt: money.Amount(r.Exempt), Taxable: money.Amount(r.Taxable),
			Tax: money.Amount(r.Tax), PriceBack: money.Amount(r.PriceBack), TaxBack: money.Amount(r.TaxBack)})
	}
	return out, err
}
