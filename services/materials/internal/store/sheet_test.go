package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// sheet has another value in every field.
func sheet() *datasheet.Sheet {
	return &datasheet.Sheet{
		Family: finish.WaterPolyurethane, Carrier: drying.Water, Light: true, BlocksStains: true, Method: coating.HVLP,
		SolidsPercent: 33.3, DryFilmUm: 25.4, ThinningPercent: 5, TransferPercent: 66, LossPerSetUpLitres: 0.03,
		ReferenceCelsius: 20, ReferenceHumidity: 55, RatePerTenCelsius: 1.9,
		SetToTouch: 20 * time.Minute, TackFree: 45 * time.Minute, Sand: 150 * time.Minute, Recoat: 2 * time.Hour, RecoatCloses: 24 * time.Hour, Cure: 7 * 24 * time.Hour,
		MinCelsius: 12, MaxCelsius: 30, MaxHumidity: 75, VOCGramsPerLitre: 210,
	}
}

// withSheet keeps a sheet of the product.
func withSheet(t *testing.T, db *pg.DB, p *materials.Product, s *datasheet.Sheet) {
	t.Helper()
	if _, err := p.SetSheet(s); err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SetSheet(ctx, *p) })
}

// A product is read with its sheet by whichever way, until that is taken away.
func TestStore_SetSheet_RoundTrip(t *testing.T) {
	db := open(t)
	add(t, db, "Wax")
	p := add(t, db, "Clear coat")
	withSheet(t, db, &p, sheet())
	receive(t, db, &p, "1", noon) // keeps the sheet as it is
	i := give(t, db, &p, noon.Add(time.Hour), "0.5")
	check := func(want materials.Product) {
		t.Helper()
		for name, got := range everyWay(t, db, p.ID, i.ID) {
			if diff := cmp.Diff(want, got, exact); diff != "" {
				t.Errorf("%s (-saved +read):\n%s", name, diff)
			}
		}
	}
	check(p)
	withSheet(t, db, &p, nil)
	check(p)
	withSheet(t, db, &p, &datasheet.Sheet{Family: finish.Wax, Carrier: drying.Solvent, Method: coating.Wipe, Recoat: time.Hour, Cure: time.Hour})
	check(p)
}

// everyWay reads a product by all methods that read one.
func everyWay(t *testing.T, db *pg.DB, p, issue id.ID) map[string]materials.Product {
	t.Helper()
	got := map[string]materials.Product{}
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		if got["Get"], err = st.Get(ctx, p); err != nil {
			return err
		}
		if got["Lock"], err = st.Lock(ctx, p); err != nil {
			return err
		}
		shelf, _, err := st.Shelf(ctx, p, nil)
		if err != nil {
			return err
		}
		got["Shelf"] = shelf.Product
		if _, shelf, _, err = st.LockIssue(ctx, p, issue); err != nil {
			return err
		}
		got["LockIssue"] = shelf.Product
		all, err := st.List(ctx, store.ProductFilter{}, "", 10)
		if err != nil {
			return err
		}
		got["List"] = all[0]
		entries, err := st.Issues(ctx, store.EntryFilter{}, store.EntryKey{}, 10)
		got["Issues"] = entries[0].Product
		return err
	})
	return got
}

func TestStore_SheetConstraintsStateTheInvariants(t *testing.T) {
	db := open(t)
	p := add(t, db, "Clear coat")
	add(t, db, "Discs") // has none
	withSheet(t, db, &p, sheet())
	for sql, constraint := range map[string]string{
		`UPDATE product SET sheet_recoat_minutes = 0 WHERE id = $1`:        "product_sheet_or_none",
		`UPDATE product SET sheet_cure_minutes = 119 WHERE id = $1`:        "product_sheet_or_none",
		`UPDATE product SET sheet_family = '' WHERE id = $1`:               "product_sheet_or_none",
		`UPDATE product SET sheet_carrier = '' WHERE id = $1`:              "product_sheet_or_none",
		`UPDATE product SET sheet_method = '' WHERE id = $1`:               "product_sheet_or_none",
		`UPDATE product SET sheet_volume_solids_percent = 0 WHERE id = $1`: "product_sheet_film_has_solids",
		`UPDATE product SET sheet_dry_film_um = 'NaN' WHERE id = $1`:       "product_sheet_is_finite",
		`UPDATE product SET sheet_max_celsius = 'Infinity' WHERE id = $1`:  "product_sheet_is_finite",
		`UPDATE product SET sheet_min_celsius = '-Infinity' WHERE id = $1`: "product_sheet_is_finite",
		`UPDATE product SET sheet_carrier = 'water' WHERE id <> $1`:        "product_sheet_or_none",
		`UPDATE product SET sheet_recoat_minutes = 1 WHERE id <> $1`:       "product_sheet_or_none",
	} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := tx.Exec(ctx, sql, p.ID)
			return err
		})
		if !pg.Violates(err, constraint) {
			t.Errorf("%s = %v, want %s", sql, err, constraint)
		}
	}
}
