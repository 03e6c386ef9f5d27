package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// spirit has another value in every detail.
func spirit() materials.Details {
	flash, boiling, voc := -12.5, 78.3, 780.0
	return materials.Details{
		Category: "solvent", Density: 0.789, FlashCelsius: &flash, BoilingCelsius: &boiling, VOC: &voc, ClosedDays: 730, OpenDays: 180, PotLife: 90 * time.Minute,
		Colour: "clear", Sheen: "none", Maker: "Example Spirits", Article: "DS-95", M2PerLitre: 12.5, Hazards: "Flame", Ingredients: "ethanol",
		SafetySheet: "binder 3", SafetySheetDate: time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC), Cautions: []string{"fire", "vapour"}, Note: "no sparks",
	}
}

// described is the product with other packages, another name and details.
func described(t *testing.T, p materials.Product) materials.Product {
	t.Helper()
	p.Rename("Spirit")
	if _, err := p.SetPackages([]materials.Package{{Label: "quart can", Content: decimal.RequireFromString("0.946352946")}}, nil); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Describe(spirit()); err != nil {
		t.Fatal(err)
	}
	return p
}

// A product is read as it was described, or as a file says that it is, until that is taken away.
func TestStore_Describe_RoundTrip(t *testing.T) {
	db := open(t)
	add(t, db, "Wax")
	p := described(t, add(t, db, "Alcohol"))
	check := func(want materials.Product) {
		t.Helper()
		var got []materials.Product
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			got, err = st.All(ctx)
			return err
		})
		if diff := cmp.Diff(want, got[0], exact); diff != "" || len(got) != 2 {
			t.Errorf("All (-saved +read):\n%s", diff)
		}
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Describe(ctx, p) })
	check(p)
	p.Details = materials.Details{}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Describe(ctx, p) })
	check(p)
	p.Details, p.Sheet, p.Threshold, p.Low = spirit(), sheet(), decimal.NewFromInt(2), true
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Save(ctx, p) })
	check(p)
}

// A file of a new product writes all of it.
func TestStore_Save_New(t *testing.T) {
	db := open(t)
	p, _, err := materials.Add(materials.Product{ID: id.New(), Name: "Spirit", Unit: litres(t, "1").Unit, Details: spirit(), Sheet: sheet(), Threshold: decimal.NewFromInt(2)})
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Save(ctx, p) })
	must(t, db, func(ctx context.Context, st store.Store) error {
		named, err := st.LockNamed(ctx, []string{"spirit", "wax"})
		if diff := cmp.Diff(map[string]materials.Product{"spirit": p}, named, exact); diff != "" {
			t.Errorf("LockNamed (-saved +read):\n%s", diff)
		}
		return err
	})
	p.ID = id.New()
	err = inTx(t, db, func(ctx context.Context, st store.Store) error { return st.Save(ctx, p) })
	if !fault.Is(err, "PRODUCT_NAME_TAKEN") || !errors.Is(err, fault.Exists) {
		t.Errorf("Save of another of that name = %v, want PRODUCT_NAME_TAKEN", err)
	}
}

// The tables refuse what the domain would never write.
func TestStore_CatalogueConstraintsStateTheInvariants(t *testing.T) {
	db := open(t)
	p := described(t, add(t, db, "Alcohol"))
	s := materials.AddSupplier(materials.Supplier{ID: id.New(), Name: "Paint store"})
	o, err := s.Offer(p, materials.Offer{Label: "quart can", Breaks: []materials.PriceBreak{{From: 1, Price: 10_00}}})
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.Describe(ctx, p), st.InsertSupplier(ctx, s), st.SetOffer(ctx, s, o))
	})
	for sql, constraint := range map[string]string{
		`UPDATE product SET about_density_grams_per_ml = 'NaN'`:         "product_about_is_finite",
		`UPDATE product SET about_flash_point_celsius = '-Infinity'`:    "product_about_is_finite",
		`UPDATE product SET about_voc_grams_per_litre = 'NaN'`:          "product_about_voc_grams_per_litre_check",
		`UPDATE product SET about_boiling_point_celsius = 'NaN'`:        "product_about_is_finite",
		`UPDATE product SET about_square_metres_per_litre = 'Infinity'`: "product_about_is_finite",
		`UPDATE product SET about_open_days = -1`:                       "product_about_open_days_check",
		`UPDATE supplier SET lead_days = -1`:                            "supplier_lead_days_check",
		`UPDATE offer SET break_price = '{0}'`:                          "offer_break_price_check",
		`UPDATE offer SET break_from = '{2}'`:                           "offer_break_from_check",
		`UPDATE offer SET break_from = '{1,2}'`:                         "offer_break_has_price",
		`DELETE FROM supplier`:                                          "offer_supplier_id_fkey",
	} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := tx.Exec(ctx, sql)
			return err
		})
		if !pg.Violates(err, constraint) {
			t.Errorf("%s = %v, want %s", sql, err, constraint)
		}
	}
}
