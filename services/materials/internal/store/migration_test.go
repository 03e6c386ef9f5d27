package store_test

import (
	"context"
	"io/fs"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// released are the first migrations, with which shops have been working.
func released(t *testing.T) pg.Migrations {
	t.Helper()
	files := fstest.MapFS{}
	for _, name := range []string{"00001_product.sql", "00002_coating_sheets.sql"} {
		sql, err := fs.ReadFile(store.Migrations, "migrations/"+name)
		if err != nil {
			t.Fatal(err)
		}
		files["migrations/"+name] = &fstest.MapFile{Data: sql}
	}
	return boot.Migrations(files)
}

// before gives a database as it was before there were entries.
func before(t *testing.T) pg.Config {
	t.Helper()
	c := pg.Config{Schema: "materials"}
	c.URL = pgtest.Prepared(t, c.Schema, func(url string) error {
		return pg.Migrate(t.Context(), pg.Config{URL: url, Schema: c.Schema}, released(t))
	})
	return c
}

func connect(t *testing.T, c pg.Config) *pg.DB {
	t.Helper()
	db, err := pg.Open(t.Context(), c, store.Constraints)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	return db
}

// old writes as the program before did: what was written first was counted first, whenever it was
// dated.
type old struct {
	db      *pg.DB
	product id.ID
}

func (o old) received(t *testing.T, at time.Time, amount string, cost money.Amount) id.ID {
	t.Helper()
	lot := id.New()
	exec(t, o.db, `INSERT INTO lot (id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier) VALUES ($1, $2, $3::numeric, $3::numeric, $4, $4, $5, 'paint store')`,
		lot, o.product, amount, cost, at)
	o.moved(t, "receive", lot, amount, cost, id.Nil, "Nell", at)
	return lot
}

// issued writes an issue of parts, which are positive.
func (o old) issued(t *testing.T, at time.Time, parts ...materials.Part) (issue id.ID) {
	t.Helper()
	issue = id.New()
	piece := id.New()
	exec(t, o.db, `INSERT INTO piece (id, version) VALUES ($1, 1)`, piece)
	exec(t, o.db, `INSERT INTO issue (id, product_id, piece_id, stage_id, stage_kind, pass, actor, issued_at) VALUES ($1, $2, $3, $4, 'strip', 2, 'Ida', $5)`,
		issue, o.product, piece, id.New(), at)
	for _, p := range parts {
		exec(t, o.db, `UPDATE lot SET quantity_left = quantity_left - $2::numeric, cost_left = cost_left - $3 WHERE id = $1`, p.Lot, p.Quantity.String(), p.Cost)
		o.moved(t, "issue", p.Lot, p.Quantity.Neg().String(), -p.Cost, issue, "Ida", at)
	}
	return issue
}

func (o old) takenBack(t *testing.T, issue id.ID, at time.Time, parts ...materials.Part) {
	t.Helper()
	exec(t, o.db, `INSERT INTO take_back (issue_id, reason, actor, taken_back_at) VALUES ($1, 'wrong can', 'Nell', $2)`, issue, at)
	for _, p := range parts {
		exec(t, o.db, `UPDATE lot SET quantity_left = quantity_left + $2::numeric, cost_left = cost_left + $3 WHERE id = $1`, p.Lot, p.Quantity.String(), p.Cost)
		o.moved(t, "take_back", p.Lot, p.Quantity.String(), p.Cost, issue, "Nell", at)
	}
}

func (o old) moved(t *testing.T, kind string, lot id.ID, amount string, cost money.Amount, issue id.ID, actor string, at time.Time) {
	t.Helper()
	exec(t, o.db, `INSERT INTO movement (product_id, lot_id, kind, quantity, cost, issue_id, actor, at) VALUES ($1, $2, $3, $4::numeric, $5, NULLIF($6, '00000000-0000-0000-0000-000000000000'::uuid), $7, $8)`,
		o.product, lot, kind, amount, cost, issue, actor, at)
	exec(t, o.db, `UPDATE product SET on_hand = on_hand + $2::numeric, value = value + $3 WHERE id = $1`, o.product, amount, cost)
}

func part(lot id.ID, amount string, cost money.Amount) materials.Part {
	return materials.Part{Lot: lot, Quantity: decimal.RequireFromString(amount), Cost: cost}
}

// history is what the shop had noted: two lots, of which the one that came in first was written
// down last; an issue that somebody dated before its lot; one of both lots, which was taken back,
// by the clock on the wall before it was made; and what was used instead, at the very time.
type history struct {
	first, last                 id.ID // lots
	early, wrong, right         id.ID // issues
	earlyAt, wrongAt, takenBack time.Time
}

func (o old) noted(t *testing.T) (h history) {
	day := func(n int) time.Time { return noon.AddDate(0, 0, n) }
	h.earlyAt, h.wrongAt, h.takenBack = day(3), day(6).Add(40*time.Second), day(6)
	h.last = o.received(t, day(5), "3", 10_00)
	h.early = o.issued(t, h.earlyAt, part(h.last, "1", 3_33))
	h.first = o.received(t, day(1), "2", 20_00)
	drawn := []materials.Part{part(h.first, "2", 20_00), part(h.last, "0.5", 1_67)}
	h.wrong = o.issued(t, h.wrongAt, drawn...)
	o.takenBack(t, h.wrong, h.takenBack, drawn...)
	h.right = o.issued(t, h.wrongAt, part(h.first, "2", 20_00))
	return h
}

// migrated gives a shop that had noted things and has entries now, beside a product of which
// nothing ever came.
func migrated(t *testing.T) (db *pg.DB, p, none materials.Product, h history) {
	t.Helper()
	c := before(t)
	was := connect(t, c)
	p.ID, none.ID = id.New(), id.New()
	for name, product := range map[string]id.ID{"Shellac": p.ID, "Wax": none.ID} {
		exec(t, was, `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
			VALUES ($1, $2, $2, 'L', '{}', '{}', 0, 0, 0, false, 3)`, product, name)
	}
	h = old{was, p.ID}.noted(t)
	was.Close()
	if err := pg.Migrate(t.Context(), c, boot.Migrations(store.Migrations)); err != nil {
		t.Fatal(err)
	}
	db = connect(t, c)
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		if p, err = st.Get(ctx, p.ID); err != nil {
			return err
		}
		none, err = st.Get(ctx, none.ID)
		return err
	})
	return db, p, none, h
}

// What was noted before there were entries is noted now: each issue cost what it did, a lot counts
// from when it was used first, and what was taken back counts as if it had never gone.
func TestMigrations_WhatWasNotedBefore(t *testing.T) {
	db, p, none, h := migrated(t)
	balanced(t, db)
	if p.OnHand.String() != "2" || p.Value != 6_67 || p.Version != 3 || p.Last.Cost != 10_00 || !p.Last.Quantity.Equal(decimal.NewFromInt(3)) {
		t.Errorf("the product is %+v", p)
	}
	if want := (materials.Mark{At: h.wrongAt, Rank: 2, ID: h.right}); p.Newest != want || none.Newest != (materials.Mark{}) || !none.OnHand.IsZero() {
		t.Errorf("the newest entry is %+v, want %+v; of what never came %+v", p.Newest, want, none.Newest)
	}
	shelf := shelfOf(t, db, p.ID, h.first)
	want := []materials.Lot{
		{ID: h.first, Root: h.first, Quantity: decimal.NewFromInt(2), Cost: 20_00, ReceivedAt: noon.AddDate(0, 0, 1), Supplier: "paint store"},
		{ID: h.last, Root: h.last, Quantity: decimal.NewFromInt(3), Left: decimal.NewFromInt(2), Cost: 10_00, CostLeft: 6_67, ReceivedAt: h.earlyAt, Supplier: "paint store"},
	}
	if diff := cmp.Diff(want, shelf.Lots(), exact); diff != "" {
		t.Errorf("lots (-want +got):\n%s", diff)
	}
	var issues []store.Issue
	var noted []store.Noted
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		if issues, err = st.Issues(ctx, store.EntryFilter{}, store.EntryKey{}, 10); err != nil {
			return err
		}
		noted, err = st.Entries(ctx, store.EntryFilter{Product: p.ID}, store.EntryKey{}, 10)
		return err
	})
	if len(issues) != 3 || len(noted) != 6 {
		t.Fatalf("%d issues and %d entries, want 3 and 6", len(issues), len(noted))
	}
	for n, want := range []struct {
		id   id.ID
		cost money.Amount
		out  string
		at   time.Time
	}{{h.right, 20_00, "2", h.wrongAt}, {h.wrong, 21_67, "0", h.wrongAt}, {h.early, 3_33, "1", h.earlyAt}} {
		i := issues[n]
		if i.ID != want.id || i.Cost() != want.cost || i.Out().String() != want.out || !i.At.Equal(want.at) || i.Actor != "Ida" || i.To.Pass != 2 || i.To.Kind != "strip" || i.To.ID == id.Nil {
			t.Errorf("issue %d is %+v, want %+v", n, i.Issue, want)
		}
	}
	if back := issues[1].Back; back == nil || back.Reason != "wrong can" || back.Actor != "Nell" || !back.At.Equal(h.takenBack) || issues[0].Back != nil {
		t.Errorf("it was taken back %+v", back)
	}
	if in := noted[5]; in.ID != h.first || in.Purpose != materials.ForDelivery || in.Lot != h.first || in.Total() != 20_00 || in.Actor != "Nell" || in.Supplier != "paint store" {
		t.Errorf("the oldest entry is %+v", in)
	}
}

// What is noted afterwards goes on from there, in its order; what is dated before counts all of it
// anew.
func TestMigrations_NotedAfterwards(t *testing.T) {
	db, p, none, h := migrated(t)
	if i := give(t, db, &p, noon.AddDate(0, 0, 9), "0.5"); i.Cost() != 1_67 || p.Value != 5_00 {
		t.Errorf("half a litre cost %d, %d are left", i.Cost(), p.Value)
	}
	balanced(t, db)
	e := entry(noon.AddDate(0, 0, 2))
	e.To = stageOf(id.New())
	e, err := p.Issue(e, litres(t, "1"))
	if err != nil {
		t.Fatal(err)
	}
	shelf := note(t, db, &p, e)
	if late := shelf.Posted[0]; late.Total() != -10_00 || late.Parts[0].Lot != h.first {
		t.Errorf("what was dated early took %+v", late.Parts)
	}
	now := map[id.ID]money.Amount{}
	for _, r := range shelf.Recosted {
		now[r.ID] = -r.Total()
	}
	if now[h.early] != 10_00 || now[h.right] != 6_67 { // of the lot that came in first, and of the other
		t.Errorf("the issues cost %v now", now)
	}
	if !p.OnHand.Equal(decimal.RequireFromString("0.5")) || p.Value != 1_67 {
		t.Errorf("%v for %d are left", p.OnHand, p.Value)
	}
	balanced(t, db)
	i := give(t, db, &p, noon.AddDate(0, 0, 10), "0.5")
	takeBack(t, db, &p, i)
	receive(t, db, &none, "1", noon)
	if give(t, db, &none, noon, "1"); !none.OnHand.IsZero() {
		t.Errorf("%v are left", none.OnHand)
	}
	balanced(t, db)
}
