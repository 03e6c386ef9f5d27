package store_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// shelfOf reads a shelf with the lots that are named.
func shelfOf(t *testing.T, db *pg.DB, product id.ID, named ...id.ID) (shelf *materials.Shelf) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		shelf, _, err = st.Shelf(ctx, product, named)
		return err
	})
	return shelf
}

// A shelf has the lots of which something is left, and those that are named.
func TestStore_Shelf_Lots(t *testing.T) {
	db := open(t)
	p, other := add(t, db, "Shellac"), add(t, db, "Wax")
	used, left := receive(t, db, &p, "1", noon), receive(t, db, &p, "2", noon.Add(time.Hour))
	wax := receive(t, db, &other, "1", noon)
	if lots := shelfOf(t, db, add(t, db, "Oil").ID).Lots(); lots == nil || len(lots) != 0 {
		t.Errorf("of a new product there are %+v", lots)
	}
	give(t, db, &p, noon.Add(2*time.Hour), "1")
	used.Left, used.CostLeft = decimal.Zero, 0
	for name, c := range map[string]struct {
		named []id.ID
		want  []materials.Lot
	}{
		"None":             {nil, []materials.Lot{left}},
		"UsedUp":           {[]id.ID{used.ID, id.Nil}, []materials.Lot{used, left}},
		"OfAnotherProduct": {[]id.ID{wax.ID}, []materials.Lot{left}},
	} {
		if diff := cmp.Diff(c.want, shelfOf(t, db, p.ID, c.named...).Lots(), exact); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// everything notes an entry of each kind and purpose, one an hour, and gives the lot that came in
// first.
func everything(t *testing.T, db *pg.DB, p *materials.Product) (can materials.Lot, posted []materials.Posted) {
	t.Helper()
	rack, cabinet, mix := rackOf("rack"), rackOf("cabinet"), id.New()
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.SavePlace(ctx, rack), st.SavePlace(ctx, cabinet))
	})
	at := noon
	do := func(kind materials.EntryKind, purpose materials.Purpose, amount string, change func(*materials.Entry)) materials.Entry {
		e := entry(at)
		at = at.Add(time.Hour)
		e.Kind, e.Purpose, e.Quantity = kind, purpose, decimal.RequireFromString(amount)
		change(&e)
		posted = append(posted, note(t, db, p, e).Posted...)
		return e
	}
	to := stageOf(id.New())
	first := do(materials.CameIn, materials.ForDelivery, "4", func(e *materials.Entry) {
		e.Lot, e.Cost, e.Supplier, e.Code, e.Place, e.Expires = e.ID, 40_00, "paint store", "B-7", rack.ID, noon.AddDate(1, 0, 0)
	})
	do(materials.CostAdded, materials.ForCorrection, "0", func(e *materials.Entry) {
		e.Lot, e.At, e.Cost, e.Reason = first.Lot, first.At, 8_00, "freight came later"
	})
	issue := do(materials.WentOut, materials.ForIssue, "1.5", func(e *materials.Entry) { e.To = to })
	do(materials.CameBack, materials.ForReturn, "0.25", func(e *materials.Entry) { e.Of, e.To, e.Reason = issue.ID, to, "unused" })
	do(materials.Split, materials.ForOpening, "1", func(e *materials.Entry) {
		e.Lot, e.Into, e.Opened, e.Expires = first.Lot, e.ID, true, noon.AddDate(0, 1, 0)
	})
	part := do(materials.Split, materials.ForMove, "0.5", func(e *materials.Entry) { e.Lot, e.Into, e.Place = first.Lot, e.ID, cabinet.ID })
	do(materials.Moved, materials.ForMove, "1.25", func(e *materials.Entry) { e.Lot, e.Place = first.Lot, cabinet.ID })
	do(materials.WentOut, materials.ForMixing, "0.5", func(e *materials.Entry) { e.Mix, e.Takes = mix, materials.Expired })
	do(materials.CameIn, materials.ForMixing, "0.5", func(e *materials.Entry) {
		e.Lot, e.Cost, e.Mix, e.Opened, e.Expires = e.ID, 6_00, mix, true, e.At.Add(8*time.Hour)
	})
	do(materials.WentOut, materials.ForWaste, "0.1", func(e *materials.Entry) {
		e.To, e.Cause, e.Takes, e.Reason = to, materials.Hose, materials.Anything, "long hose"
	})
	do(materials.Tallied, materials.ForCount, "3", func(e *materials.Entry) { e.Into = e.ID })
	do(materials.Tallied, materials.ForCount, "0.125", func(e *materials.Entry) { e.Lot, e.Into = part.Into, e.ID })
	do(materials.Closed, materials.ForClosing, "0", func(e *materials.Entry) { e.Lot, e.Reason = part.Into, "skinned over" })
	last := do(materials.WentOut, materials.ForIssue, "0.2", func(e *materials.Entry) { e.To = stageOf(to.Piece) })
	do(materials.CameBack, materials.ForReturn, "0.2", func(e *materials.Entry) {
		e.Of, e.To, e.Reason = last.ID, last.To, "a slip"
	})
	can, err := shelfOf(t, db, p.ID, first.Lot).Lot(first.Lot)
	if err != nil {
		t.Fatal(err)
	}
	return can, posted
}

// Whatever was noted is read as it was, and so are the lots that come of it.
func TestStore_SaveShelf_RoundTrip(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	_, posted := everything(t, db, &p)
	var read []store.Noted
	err := view(t, db, func(ctx context.Context, st store.Store) (err error) {
		read, err = st.Entries(ctx, store.EntryFilter{Product: p.ID}, store.EntryKey{}, 100)
		return err
	})
	if err != nil || len(read) != len(posted) {
		t.Fatalf("%d entries of %d, %v", len(read), len(posted), err)
	}
	got := map[id.ID]store.Noted{}
	for n, e := range read {
		got[e.ID] = e
		if n > 0 && read[n-1].At.Before(e.At) {
			t.Errorf("entry %d is later than the one before it", n)
		}
	}
	for _, want := range posted {
		if diff := cmp.Diff(store.Noted{Posted: want, Product: p}, got[want.ID], exact); diff != "" {
			t.Errorf("%s (-noted +read):\n%s", want.Purpose, diff)
		}
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		shelf, _, err := st.Shelf(ctx, p.ID, nil)
		if err != nil {
			return err
		}
		lots, err := st.Lots(ctx, p.ID, store.LotKey{}, false, 100)
		for _, l := range lots {
			on, err := shelf.Lot(l.ID)
			if diff := cmp.Diff(on, l, exact); err != nil || diff != "" {
				t.Errorf("%v (-on the shelf +in the list):\n%s", err, diff)
			}
		}
		if len(lots) != len(shelf.Lots()) || len(lots) < 4 {
			t.Errorf("%d lots in the list, %d on the shelf", len(lots), len(shelf.Lots()))
		}
		return err
	})
	balanced(t, db)
}

// All that was ever noted is recalled so that it comes to the same again: a late move changes where
// a lot stood and nothing else.
func TestStore_Recall_ComesToTheSame(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	can, posted := everything(t, db, &p)
	shed := rackOf("shed")
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SavePlace(ctx, shed) })
	e := entry(noon.Add(90 * time.Minute))
	e.Kind, e.Purpose, e.Lot, e.Place = materials.Moved, materials.ForMove, can.ID, shed.ID
	before := shelfOf(t, db, p.ID, can.ID).Lots()
	shelf := note(t, db, &p, e)
	if shelf.Recosted != nil || len(shelf.Posted) != 1 {
		t.Errorf("a late move changed %+v", shelf.Recosted)
	}
	opened, moved := posted[4].Into, map[id.ID]bool{}
	for _, l := range shelf.Changed() {
		moved[l.ID] = l.Place == shed.ID
	}
	if len(moved) != 2 || !moved[opened] { // and what was found beside it
		t.Errorf("it changed %+v, want the place of what was opened and found since", shelf.Changed())
	}
	for n, l := range shelfOf(t, db, p.ID, can.ID).Lots() {
		want := before[n]
		if moved[l.ID] {
			want.Place = shed.ID
		}
		if diff := cmp.Diff(want, l, exact); diff != "" {
			t.Errorf("lot %d (-before +after):\n%s", n, diff)
		}
	}
	balanced(t, db)
}

// An entry that is dated before others changes what they drew, and that is written beside what they
// had drawn, with its cause.
func TestStore_SaveShelf_BecauseOfALateEntry(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "2", noon.Add(time.Hour))
	i := give(t, db, &p, noon.Add(2*time.Hour), "1.5")
	other := give(t, db, &p, noon.Add(3*time.Hour), "0.1")
	written := number(t, db, `SELECT count(*) FROM movement`)
	early := receive(t, db, &p, "1", noon)
	late := give(t, db, &p, noon.Add(time.Minute), "0.5")
	if got := number(t, db, `SELECT count(*) FROM movement WHERE because_id IS NULL`); got != written+2 {
		t.Errorf("%d movements of entries themselves, want %d", got, written+2)
	}
	for cause, want := range map[id.ID]int{early.ID: 2, late.ID: 3} { // the second is rounded otherwise now
		if got := number(t, db, `SELECT count(*) FROM movement WHERE because_id = $1`, cause); got != want {
			t.Errorf("%d movements because of %v, want %d", got, cause, want)
		}
	}
	var noted []store.Noted
	err := view(t, db, func(ctx context.Context, st store.Store) (err error) {
		noted, err = st.Entries(ctx, store.EntryFilter{Purposes: []string{"issue"}}, store.EntryKey{}, 10)
		return err
	})
	if err != nil || len(noted) != 3 {
		t.Fatal(noted, err)
	}
	for n, want := range []struct {
		id      id.ID
		changed int32
	}{{other.ID, 1}, {i.ID, 2}, {late.ID, 0}} {
		if noted[n].ID != want.id || noted[n].Recostings != want.changed {
			t.Errorf("entry %d was changed %d times, want %d", n, noted[n].Recostings, want.changed)
		}
	}
	balanced(t, db)
}

// One command holds the product; another asks for it, waits, and must then see what the
// first has written, in the lots too.
func TestStore_Shelf_SeesWhatItWaitedFor(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	receive(t, db, &p, "1", noon)
	e := entry(noon.Add(time.Hour))
	e.To = stageOf(id.New())
	e, err := p.Issue(e, litres(t, "0.75"))
	if err != nil {
		t.Fatal(err)
	}
	type reading struct {
		shelf  *materials.Shelf
		pieces map[id.ID]*materials.Piece
		err    error
	}
	second := make(chan reading, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		shelf, pieces, err := st.Shelf(ctx, p.ID, nil, e.To.Piece)
		if err != nil {
			return err
		}
		go func() {
			var r reading
			r.err = inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
				r.shelf, r.pieces, err = st.Shelf(ctx, p.ID, nil, e.To.Piece)
				return err
			})
			second <- r
		}()
		pgtest.UntilOneWaits(t, db)
		if err := shelf.Post(e); err != nil {
			return err
		}
		pieces[e.To.Piece].Version++
		return errors.Join(st.SaveShelf(ctx, shelf), st.SavePieces(ctx, pieces))
	})
	r := <-second
	if r.err != nil {
		t.Fatal(r.err)
	}
	want, p, lots := decimal.RequireFromString("0.25"), r.shelf.Product, r.shelf.Lots()
	if !p.OnHand.Equal(want) || len(lots) != 1 || !lots[0].Left.Equal(want) || p.Value != lots[0].CostLeft || r.pieces[e.To.Piece].Version != 1 {
		t.Errorf("read %+v with %+v and %+v, want 0.25 left in both and version 1", p, lots, r.pieces)
	}
}

// The tables refuse entries that say nothing that could have happened.
func TestStore_EntryConstraintsStateTheInvariants(t *testing.T) {
	db := open(t)
	p := add(t, db, "Shellac")
	lot := receive(t, db, &p, "1", noon)
	takeBack(t, db, &p, give(t, db, &p, noon.Add(time.Hour), "0.5"))
	for _, c := range []struct{ of, change, constraint string }{
		{"take back", `{}`, "entry_undone_once"},
		{"take back", `{"purpose": "return"}`, "entry_undoes"},
		{"issue", `{"undone_at": "2026-03-02T12:00:00Z"}`, "entry_undone_at_a_time"},
		{"issue", `{"kind": "lost"}`, "entry_kind_check"},
		{"delivery", `{"purpose": "party"}`, "entry_purpose_check"},
		{"issue", `{"takes": "all"}`, "entry_takes_check"},
		{"issue", `{"quantity": -1}`, "entry_quantity_check"},
		{"issue", `{"cost": 1}`, "entry_cost_is_of_a_lot"},
		{"issue", fmt.Sprintf(`{"of_id": "%s"}`, lot.ID), "entry_is_of_another"},
		{"take back", `{"of_id": null}`, "entry_is_of_another"},
		{"issue", `{"stage_id": null}`, "entry_stage_is_of_a_piece"},
		{"issue", `{"pass": 0}`, "entry_stage_is_of_a_piece"},
		{"delivery", `{"pass": 1}`, "entry_stage_is_of_a_piece"},
		{"issue", `{"piece_id": null, "stage_id": null, "pass": 0}`, "entry_issue_is_to_a_piece"},
	} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := tx.Exec(ctx, `INSERT INTO entry
				SELECT (jsonb_populate_record(entry, jsonb_build_object('id', gen_random_uuid()) || $2::jsonb)).* FROM entry WHERE purpose = $1`, c.of, c.change)
			return err
		})
		if !pg.Violates(err, c.constraint) {
			t.Errorf("%s with %s = %v, want %s", c.of, c.change, err, c.constraint)
		}
	}
}

// The way of counting is chosen before anything is noted. Whoever chooses waits for those who are
// noting something, and they for it.
func TestStore_Method(t *testing.T) {
	db := open(t)
	method := func() (m materials.Method, version int64, settled bool) {
		err := view(t, db, func(ctx context.Context, st store.Store) (err error) {
			m, version, settled, err = st.Method(ctx)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return m, version, settled
	}
	if m, version, settled := method(); m != materials.FirstIn || version != 1 || settled {
		t.Errorf("a new shop counts by %s, version %d, settled %v", m, version, settled)
	}
	p := add(t, db, "Shellac")
	first := make(chan *materials.Shelf, 1)
	must(t, db, func(ctx context.Context, st store.Store) error {
		_, version, settled, err := st.LockMethod(ctx)
		if err != nil || settled {
			return errors.Join(err, errors.New("it is settled already"))
		}
		e := entry(noon)
		e.Kind, e.Purpose, e.Quantity, e.Lot = materials.CameIn, materials.ForDelivery, decimal.NewFromInt(1), e.ID
		go func() {
			p := p
			first <- note(t, db, &p, e)
		}()
		pgtest.UntilOneWaits(t, db)
		return st.SetMethod(ctx, materials.Average, version+1)
	})
	<-first
	if m, version, settled := method(); m != materials.Average || version != 2 || !settled {
		t.Errorf("the shop counts by %s, version %d, settled %v", m, version, settled)
	}
	if m := shelfOf(t, db, p.ID).Method; m != materials.Average {
		t.Errorf("a shelf counts by %s", m)
	}
}
