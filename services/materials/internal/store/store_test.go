package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/boot"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func open(t *testing.T) *pg.DB {
	return pgtest.Open(t, "materials", store.Constraints, boot.Migrations(store.Migrations))
}

func inTx(t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) error) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return fn(ctx, store.New(tx)) })
}

// must is inTx for what has to work.
func must(t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) error) {
	t.Helper()
	if err := inTx(t, db, fn); err != nil {
		t.Fatal(err)
	}
}

func view(t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) error) error {
	t.Helper()
	return db.View(t.Context(), func(q pg.Querier) error { return fn(t.Context(), store.New(q)) })
}

func litres(t testing.TB, amount string) quantity.Quantity {
	t.Helper()
	q, err := quantity.Parse(amount, "L")
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// add keeps a product that is counted in litres.
func add(t *testing.T, db *pg.DB, name string) materials.Product {
	t.Helper()
	p, _, err := materials.Add(materials.Product{ID: id.New(), Name: name, Unit: litres(t, "1").Unit})
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Insert(ctx, p) })
	return p
}

var exact = cmp.Options{
	cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) }),
	cmp.Comparer(func(a, b quantity.Unit) bool { return a.Symbol == b.Symbol }),
}

func TestStore_RoundTrip(t *testing.T) {
	db := open(t)
	p, _, err := materials.Add(materials.Product{ID: id.New(), Name: "Dewaxed shellac", Unit: litres(t, "1").Unit, Threshold: decimal.RequireFromString("0.0295735295625"),
		Packages: []materials.Package{{Label: "quart can", Content: decimal.RequireFromString("0.946352946")}, {Label: "a \"big\" one, {2}", Content: decimal.NewFromInt(20)}}})
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Insert(ctx, p) })
	lot := receive(t, db, &p, "1.5", noon)
	issue := give(t, db, &p, noon.Add(time.Minute), "0.7")
	lot.Left, lot.CostLeft = decimal.RequireFromString("0.8"), 10_66
	var got, locked materials.Product
	var shelf *materials.Shelf
	var pieces map[id.ID]*materials.Piece
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		if got, err = st.Get(ctx, p.ID); err != nil {
			return err
		}
		if locked, err = st.Lock(ctx, p.ID); err != nil {
			return err
		}
		shelf, pieces, err = st.Shelf(ctx, p.ID, nil, issue.To.Piece)
		return err
	})
	for name, got := range map[string]materials.Product{"Get": got, "Lock": locked, "Shelf": shelf.Product} {
		if diff := cmp.Diff(p, got, exact); diff != "" {
			t.Errorf("%s (-saved +read):\n%s", name, diff)
		}
	}
	if want := (map[id.ID]*materials.Piece{issue.To.Piece: {ID: issue.To.Piece, Version: 1}}); !cmp.Equal(want, pieces) {
		t.Errorf("pieces = %+v, want %+v", pieces, want)
	}
	if diff := cmp.Diff([]materials.Lot{lot}, shelf.Lots(), exact); diff != "" || shelf.Method != materials.FirstIn {
		t.Errorf("lots by %s (-saved +read):\n%s", shelf.Method, diff)
	}
}

func TestStore_NotFound(t *testing.T) {
	db := open(t)
	for name, read := range map[string]func(ctx context.Context, st store.Store) error{
		"Get":  func(ctx context.Context, st store.Store) error { _, err := st.Get(ctx, id.New()); return err },
		"Lock": func(ctx context.Context, st store.Store) error { _, err := st.Lock(ctx, id.New()); return err },
		"Shelf": func(ctx context.Context, st store.Store) error {
			_, _, err := st.Shelf(ctx, id.New(), nil, id.New())
			return err
		},
	} {
		if err := inTx(t, db, read); !fault.Is(err, "PRODUCT_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
			t.Errorf("%s = %v, want PRODUCT_NOT_FOUND", name, err)
		}
	}
}

func TestStore_Insert_NameTaken(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	for _, name := range []string{"sHELLAC", "Ｓｈｅｌｌａｃ"} {
		p.ID, p.Name = id.New(), name
		err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.Insert(ctx, p) })
		if !fault.Is(err, "PRODUCT_NAME_TAKEN") || !errors.Is(err, fault.Exists) {
			t.Errorf("Insert of %s = %v, want PRODUCT_NAME_TAKEN", name, err)
		}
	}
}

// The tables refuse what the domain would never write.
func TestStore_NeverBelowZero(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	lot := receive(t, db, &p, "1", noon)
	t.Run("Product", func(t *testing.T) {
		bad := p
		bad.OnHand, bad.Value, bad.Low = decimal.NewFromInt(-1), 0, true
		err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.Update(ctx, bad) })
		if !fault.Is(err, "STOCK_TOO_SMALL") {
			t.Errorf("Update = %v, want STOCK_TOO_SMALL", err)
		}
	})
	t.Run("Lot", func(t *testing.T) {
		lot.Left, lot.CostLeft = decimal.NewFromInt(-1), 0
		shelf := materials.OpenShelf(p, materials.FirstIn, []materials.Lot{lot})
		e, err := lot.Close(entry(noon.Add(time.Hour)))
		if err != nil {
			t.Fatal(err)
		}
		if err := shelf.Post(e); err != nil {
			t.Fatal(err)
		}
		err = inTx(t, db, func(ctx context.Context, st store.Store) error { return st.SaveShelf(ctx, shelf) })
		if !fault.Is(err, "STOCK_TOO_SMALL") {
			t.Errorf("SaveShelf = %v, want STOCK_TOO_SMALL", err)
		}
	})
}

func TestStore_ConstraintsStateTheInvariants(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "1", noon)
	takeBack(t, db, &p, give(t, db, &p, noon.Add(time.Hour), "0.5"))
	for sql, constraint := range map[string]string{
		`UPDATE product SET low = true`:               "product_low_is_below_threshold",
		`UPDATE product SET threshold = 2`:            "product_low_is_below_threshold",
		`UPDATE product SET on_hand = 0`:              "product_nothing_is_worth_nothing",
		`UPDATE product SET package_labels = '{can}'`: "product_package_has_content",
		`UPDATE lot SET quantity_left = 0`:            "lot_nothing_is_worth_nothing",
		`UPDATE lot SET quantity_left = 2`:            "lot_check",
		`UPDATE lot SET cost_left = 2000`:             "lot_check1",
		`UPDATE movement SET cost = 0`:                "movement_stands",
		`DELETE FROM movement`:                        "movement_stands",
		`UPDATE entry SET pass = 2`:                   "movement_stands",
		`DELETE FROM entry`:                           "movement_stands",
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

func TestStore_List_PagesByName(t *testing.T) {
	db := open(t)
	for _, name := range []string{"wax", "Alkyd", "shellac", "Zinc primer", "alcohol"} {
		add(t, db, name)
	}
	var names []string
	after := ""
	for {
		var page []materials.Product
		err := view(t, db, func(ctx context.Context, st store.Store) (err error) {
			page, err = st.List(ctx, store.ProductFilter{}, after, 2)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range page {
			names = append(names, p.Name)
		}
		if len(page) < 2 {
			break
		}
		after = page[1].Name
	}
	if diff := cmp.Diff([]string{"alcohol", "Alkyd", "shellac", "wax", "Zinc primer"}, names); diff != "" {
		t.Errorf("List (-want +got):\n%s", diff)
	}
}

func TestStore_Lots_OldestFirst(t *testing.T) {
	db := open(t)
	p, other := add(t, db, "Shellac"), add(t, db, "Wax")
	late := receive(t, db, &p, "1", noon.Add(time.Hour))
	early := receive(t, db, &p, "2", noon)
	same := receive(t, db, &p, "3", noon)
	receive(t, db, &other, "4", noon)
	give(t, db, &p, noon.Add(2*time.Hour), "2")
	read := func(after store.LotKey, usedUpToo bool, limit int32) (ids []id.ID) {
		err := view(t, db, func(ctx context.Context, st store.Store) error {
			lots, err := st.Lots(ctx, p.ID, after, usedUpToo, limit)
			for _, l := range lots {
				ids = append(ids, l.ID)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return ids
	}
	cases := map[string]struct{ got, want []id.ID }{
		"Open":       {read(store.LotKey{}, false, 10), []id.ID{same.ID, late.ID}},
		"All":        {read(store.LotKey{}, true, 10), []id.ID{early.ID, same.ID, late.ID}},
		"FirstTwo":   {read(store.LotKey{}, true, 2), []id.ID{early.ID, same.ID}},
		"AfterThose": {read(store.LotKey{At: noon, ID: same.ID}, true, 2), []id.ID{late.ID}},
	}
	for name, c := range cases {
		if diff := cmp.Diff(c.want, c.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}
