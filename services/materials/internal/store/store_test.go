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

func litres(t *testing.T, amount string) quantity.Quantity {
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

func receive(t *testing.T, db *pg.DB, p *materials.Product, amount string, at time.Time) materials.Lot {
	t.Helper()
	lot, _, err := p.Receive(materials.Delivery{Lot: id.New(), Amount: litres(t, amount), Cost: 19_99, Supplier: "paint store", At: at})
	if err != nil {
		t.Fatal(err)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Receive(ctx, *p, lot, "Nell") })
	return lot
}

func issueOf(at time.Time) materials.Issue {
	return materials.Issue{ID: id.New(), At: at, Actor: "Nell", Stage: materials.Stage{ID: id.New(), Piece: id.New(), Kind: "strip", Pass: 1}}
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
	issue := give(t, db, &p, noon, "0.7", lot)
	var got, locked materials.Product
	var piece materials.Piece
	var lots []materials.Lot
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		if got, err = st.Get(ctx, p.ID); err != nil {
			return err
		}
		locked, piece, lots, err = st.LockWithLots(ctx, p.ID, issue.Stage.Piece)
		return err
	})
	if diff := cmp.Diff(p, got, exact); diff != "" {
		t.Errorf("Get (-saved +read):\n%s", diff)
	}
	if diff := cmp.Diff(p, locked, exact); diff != "" {
		t.Errorf("LockWithLots (-saved +read):\n%s", diff)
	}
	if want := (materials.Piece{ID: issue.Stage.Piece, Version: 1}); piece != want {
		t.Errorf("piece = %+v, want %+v", piece, want)
	}
	if diff := cmp.Diff([]materials.Lot{issue.Draws[0].Lot}, lots, exact); diff != "" {
		t.Errorf("lots (-saved +read):\n%s", diff)
	}
}

func TestStore_NotFound(t *testing.T) {
	db := open(t)
	for name, read := range map[string]func(ctx context.Context, st store.Store) error{
		"Get":  func(ctx context.Context, st store.Store) error { _, err := st.Get(ctx, id.New()); return err },
		"Lock": func(ctx context.Context, st store.Store) error { _, err := st.Lock(ctx, id.New()); return err },
		"LockWithLots": func(ctx context.Context, st store.Store) error {
			_, _, _, err := st.LockWithLots(ctx, id.New(), id.New())
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
		issue := issueOf(noon)
		lot.Left, lot.CostLeft = decimal.NewFromInt(-1), 0
		issue.Draws = []materials.Drawn{{Lot: lot, Quantity: decimal.NewFromInt(2)}}
		err := inTx(t, db, func(ctx context.Context, st store.Store) error {
			_, piece, _, err := st.LockWithLots(ctx, p.ID, issue.Stage.Piece)
			if err != nil {
				return err
			}
			return st.Issue(ctx, p, piece, issue)
		})
		if !fault.Is(err, "STOCK_TOO_SMALL") {
			t.Errorf("Issue = %v, want STOCK_TOO_SMALL", err)
		}
	})
}

func TestStore_ConstraintsStateTheInvariants(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	lot := receive(t, db, &p, "1", noon)
	takeBack(t, db, &p, give(t, db, &p, noon, "0.5", lot))
	for sql, constraint := range map[string]string{
		`UPDATE product SET low = true`:               "product_low_is_below_threshold",
		`UPDATE product SET threshold = 2`:            "product_low_is_below_threshold",
		`UPDATE product SET on_hand = 0`:              "product_nothing_is_worth_nothing",
		`UPDATE product SET package_labels = '{can}'`: "product_package_has_content",
		`UPDATE lot SET quantity_left = 0`:            "lot_nothing_is_worth_nothing",
		`UPDATE movement SET cost = 0`:                "movement_stands",
		`DELETE FROM movement`:                        "movement_stands",
		`UPDATE issue SET pass = 2`:                   "movement_stands",
		`DELETE FROM take_back`:                       "movement_stands",
		`INSERT INTO take_back (issue_id, reason, actor, taken_back_at)
			SELECT issue_id, 'again', 'Nell', now() FROM take_back`: "take_back_once",
		`INSERT INTO movement (product_id, lot_id, kind, quantity, cost, issue_id, actor, at)
			SELECT product_id, lot_id, kind, quantity, cost, issue_id, actor, at FROM movement WHERE kind = 'take_back'`: "movement_once",
		`INSERT INTO movement (product_id, lot_id, kind, quantity, cost, actor, at)
			SELECT product_id, id, 'receive', -1, 0, 'Nell', now() FROM lot`: "movement_sign",
		`INSERT INTO movement (product_id, lot_id, kind, quantity, cost, issue_id, actor, at)
			SELECT i.product_id, l.id, 'take_back', -1, 0, i.id, 'Nell', now() FROM lot l, issue i`: "movement_sign",
		`INSERT INTO movement (product_id, lot_id, kind, quantity, cost, actor, at)
			SELECT product_id, id, 'issue', -1, 0, 'Nell', now() FROM lot`: "movement_of_an_issue",
		`INSERT INTO movement (product_id, lot_id, kind, quantity, cost, issue_id, actor, at)
			SELECT i.product_id, l.id, 'receive', 1, 0, i.id, 'Nell', now() FROM lot l, issue i`: "movement_of_an_issue",
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

// One command holds the product; another asks for it, waits, and must then see what the
// first has written, in the lots too.
func TestStore_LockWithLots_SeesWhatItWaitedFor(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	lot := receive(t, db, &p, "1", noon)
	issue := issueOf(noon)
	type reading struct {
		product materials.Product
		piece   materials.Piece
		lots    []materials.Lot
		err     error
	}
	second := make(chan reading, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		first, piece, _, err := st.LockWithLots(ctx, p.ID, issue.Stage.Piece)
		if err != nil {
			return err
		}
		go func() {
			var r reading
			r.err = inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
				r.product, r.piece, r.lots, err = st.LockWithLots(ctx, p.ID, issue.Stage.Piece)
				return err
			})
			second <- r
		}()
		pgtest.UntilOneWaits(t, db)
		issue, _, err := first.Issue(&piece, issue, litres(t, "0.75"), []materials.Lot{lot})
		if err != nil {
			return err
		}
		return st.Issue(ctx, first, piece, issue)
	})
	r := <-second
	if r.err != nil {
		t.Fatal(r.err)
	}
	want := decimal.RequireFromString("0.25")
	if !r.product.OnHand.Equal(want) || len(r.lots) != 1 || !r.lots[0].Left.Equal(want) || r.product.Value != r.lots[0].CostLeft || r.piece.Version != 1 {
		t.Errorf("read %+v with %+v and %+v, want 0.25 left in both and version 1", r.product, r.lots, r.piece)
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
	give(t, db, &p, noon, "2", early)
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
