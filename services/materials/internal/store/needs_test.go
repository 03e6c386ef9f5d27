package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/stock"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

var day0 = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

// cupboard is a database to write entries and needs into by hand.
type cupboard struct {
	*pg.DB
	t testing.TB
}

func cupboardOf(t testing.TB) cupboard {
	return cupboard{pgtest.Open(t, "materials", store.Constraints, boot.Migrations(store.Migrations)), t}
}

func (c cupboard) write(sql string, args ...any) {
	c.t.Helper()
	err := c.InTx(c.t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, sql, args...)
		return err
	})
	if err != nil {
		c.t.Fatal(err)
	}
}

func (c cupboard) product(name string) id.ID {
	c.t.Helper()
	product := id.New()
	c.write(`INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
		VALUES ($1, $2, $2, 'L', '{}', '{}', 0, 0, 0, false, 1)`, product, name)
	return product
}

// entry writes down that something happened so many hours after the first midnight.
func (c cupboard) entry(product id.ID, kind, purpose string, hours float64, amount string, of, piece, stage id.ID) id.ID {
	c.t.Helper()
	entry := id.New()
	pass := 0
	if piece != id.Nil {
		pass = 1
		c.write(`INSERT INTO piece (id, version) VALUES ($1, 1) ON CONFLICT DO NOTHING`, piece)
	}
	c.write(`INSERT INTO entry (id, product_id, kind, purpose, at, quantity, of_id, piece_id, stage_id, pass, actor, undone_at)
		VALUES ($1, $2, $3::text, $4::text, $5::timestamptz, $6::numeric, nullif($7, $10::uuid), nullif($8, $10::uuid), nullif($9, $10::uuid), $11, 'Nell', CASE $3::text WHEN 'undone' THEN $5::timestamptz END)`,
		entry, product, kind, purpose, day0.Add(time.Duration(hours*float64(time.Hour))), amount, of, piece, stage, id.Nil, pass)
	return entry
}

func (c cupboard) need(product, piece, stage id.ID, amount string, hours float64) {
	c.t.Helper()
	noted := day0.Add(time.Duration(hours * float64(time.Hour)))
	c.write(`INSERT INTO need (stage_id, product_id, pass, piece_id, stage_title, stage_kind, method, unit, planned, quantity, wanted_at, seconds_to, state, noted_at)
		VALUES ($1, $2, 1, $3, 'topcoat-1 (top)', 'topcoat_coat', 'brush', 'L', $4::numeric, $4::numeric, $5, 7200, 'open', $5)`, stage, product, piece, amount, noted)
}

func (c cupboard) history(products []id.ID, days int, mixed ...id.ID) (used map[id.ID][]stock.Used) {
	c.t.Helper()
	err := c.View(c.t.Context(), func(q pg.Querier) (err error) {
		used, err = store.New(q).History(c.t.Context(), products, mixed, store.Period{From: day0, Days: days})
		return err
	})
	if err != nil {
		c.t.Fatal(err)
	}
	return used
}

// Each kind of use on its own day: what a plan said three days before, less what came back of it;
// what nobody planned; waste; and what a count found missing.
func TestStore_History(t *testing.T) {
	c := cupboardOf(t)
	varnish, other, piece, stage := c.product("varnish"), c.product("paint"), id.New(), id.New()
	c.need(varnish, piece, stage, "0.5", 10)
	c.entry(varnish, "came in", "delivery", 0, "10", id.Nil, id.Nil, id.Nil)
	issue := c.entry(varnish, "went out", "issue", 10+3*24, "0.5", id.Nil, piece, stage)
	c.entry(varnish, "came back", "return", 10+5*24, "0.125", issue, piece, stage)
	c.entry(varnish, "went out", "issue", 10+3*24, "0.25", id.Nil, piece, id.New())
	c.entry(varnish, "went out", "waste", 5*24, "0.1", id.Nil, piece, stage)
	gone := c.entry(varnish, "went out", "issue", 6*24, "2", id.Nil, piece, id.New())
	c.entry(varnish, "undone", "take back", 6*24+1, "2", gone, piece, id.New())
	spilt := c.entry(varnish, "went out", "waste", 7*24, "3", id.Nil, id.Nil, id.Nil)
	c.entry(varnish, "undone", "undo", 7*24, "3", spilt, id.Nil, id.Nil)
	again := c.entry(varnish, "came back", "return", 10+5*24, "0.1", issue, piece, stage)
	c.entry(varnish, "undone", "undo", 10+5*24, "0.1", again, piece, stage)
	c.entry(other, "went out", "waste", 3*24, "7", id.Nil, id.Nil, id.Nil)
	c.entry(varnish, "went out", "waste", 20*24, "9", id.Nil, id.Nil, id.Nil)
	want := map[id.ID][]stock.Used{
		varnish: {{Day: 3, Amount: 0.25}, {Day: 3, Amount: 0.375, Ahead: 3}, {Day: 5, Amount: 0.1}},
		other:   {{Day: 3, Amount: 7}},
	}
	if diff := cmp.Diff(want, c.history(nil, 20)); diff != "" {
		t.Errorf("History(all, 20 days):\n%s", diff)
	}
	delete(want, other)
	if diff := cmp.Diff(want, c.history([]id.ID{varnish}, 20)); diff != "" {
		t.Errorf("History(varnish, 20 days):\n%s", diff)
	}
	if got := c.history([]id.ID{varnish}, 21)[varnish]; len(got) != 4 || got[3] != (stock.Used{Day: 20, Amount: 9}) {
		t.Errorf("with one day more = %v", got)
	}
}

// A count that finds less is use that nobody planned; one that finds more is none.
func TestStore_History_Counts(t *testing.T) {
	c := cupboardOf(t)
	varnish, lot := c.product("varnish"), id.New()
	c.write(`INSERT INTO lot (id, root_id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier) VALUES ($1, $1, $2, 10, 10, 0, 0, $3, '')`, lot, varnish, day0)
	for hours, amount := range map[float64]string{24: "-0.75", 48: "0.5"} {
		count := c.entry(varnish, "counted", "count", hours, "8", id.Nil, id.Nil, id.Nil)
		c.write(`INSERT INTO movement (product_id, lot_id, quantity, cost, entry_id) VALUES ($1, $2, $3::numeric, 0, $4)`, varnish, lot, amount, count)
	}
	if diff := cmp.Diff(map[id.ID][]stock.Used{varnish: {{Day: 1, Amount: 0.75}}}, c.history(nil, 20)); diff != "" {
		t.Error(diff)
	}
}

// What goes into a mix is used by then, as what comes of it is used later: unless it is known how
// the mix itself is used, for then that is what its parts are used for.
func TestStore_History_Mixing(t *testing.T) {
	c := cupboardOf(t)
	dye, toner, piece, mix, recipe := c.product("dye"), c.product("toner"), id.New(), id.New(), id.New()
	lot := c.entry(toner, "came in", "mixing", 24, "2", id.Nil, id.Nil, id.Nil)
	c.write(`INSERT INTO lot (id, root_id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier) VALUES ($1, $1, $2, 2, 2, 0, 0, $3, '')`, lot, toner, day0)
	c.write(`INSERT INTO recipe (id, display_name, name_key, makes_id, keeps_minutes, note, version) VALUES ($1, 'honey', 'honey', $2, 0, '', 1)`, recipe, toner)
	c.write(`INSERT INTO mix (id, recipe_id, product_id, lot_id, quantity, mixed_at, note, actor) VALUES ($1, $2, $3, $4, 2, $5, '', 'Nell')`, mix, recipe, toner, lot, day0)
	c.write(`INSERT INTO entry (id, product_id, kind, purpose, at, quantity, mix_id, actor) VALUES ($1, $2, 'went out', 'mixing', $3, 1, $4, 'Nell')`, id.New(), dye, day0.Add(24*time.Hour), mix)
	c.entry(dye, "went out", "waste", 48, "0.5", id.Nil, id.Nil, id.Nil)
	c.entry(toner, "went out", "issue", 24, "0.5", id.Nil, piece, id.New())
	want := map[id.ID][]stock.Used{dye: {{Day: 1, Amount: 1}, {Day: 2, Amount: 0.5}}, toner: {{Day: 1, Amount: 0.5}}}
	if diff := cmp.Diff(want, c.history(nil, 20)); diff != "" {
		t.Errorf("a toner that somebody sells too, used on the day when it was mixed:\n%s", diff)
	}
	want[dye] = want[dye][1:]
	for name, products := range map[string][]id.ID{"all": nil, "both": {dye, toner}} {
		if diff := cmp.Diff(want, c.history(products, 20, toner)); diff != "" {
			t.Errorf("of %s, a toner that nobody sells:\n%s", name, diff)
		}
	}
}

func TestStore_OpenNeeds(t *testing.T) {
	c := cupboardOf(t)
	varnish, paint, piece, stage, second := c.product("varnish"), c.product("paint"), id.New(), id.New(), id.New()
	c.need(varnish, piece, second, "0.3", 20)
	c.need(varnish, piece, stage, "0.5", 10)
	c.need(paint, piece, stage, "0.2", 30)
	issue := c.entry(varnish, "went out", "issue", 40, "0.4", id.Nil, piece, stage)
	c.entry(varnish, "came back", "return", 41, "0.1", issue, piece, stage)
	c.entry(varnish, "went out", "waste", 41, "0.05", id.Nil, piece, stage)
	c.entry(paint, "went out", "issue", 41, "0.2", id.Nil, piece, stage)
	read := func(products []id.ID) (needs []materials.OpenNeed) {
		t.Helper()
		err := c.View(t.Context(), func(q pg.Querier) (err error) {
			needs, err = store.New(q).OpenNeeds(t.Context(), products)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return needs
	}
	want := func(stage id.ID, reserved string, hours int) materials.OpenNeed {
		at := day0.Add(time.Duration(hours) * time.Hour)
		return materials.OpenNeed{Product: varnish, Piece: piece, Stage: stage, Pass: 1, Title: "topcoat-1 (top)", Kind: "topcoat_coat", Reserved: decimal.RequireFromString(reserved),
			Due: materials.Due{Soonest: at, Work: 2 * time.Hour}, NotedAt: at}
	}
	if diff := cmp.Diff([]materials.OpenNeed{want(stage, "0.2", 10), want(second, "0.3", 20)}, read(nil)); diff != "" {
		t.Errorf("OpenNeeds(all), of the paint all was issued:\n%s", diff)
	}
	if got := read([]id.ID{paint}); len(got) != 0 {
		t.Errorf("OpenNeeds(paint) = %v", got)
	}
}
