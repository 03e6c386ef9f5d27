package consume_test

import (
	"context"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// A stool is sold while its wax is still to come: it leaves the floor, which is told once, and no other
// piece does. Part of the money goes back, and nothing changes; then the stool does, and is on the floor again.
func TestHandler_SoldAndReturned(t *testing.T) {
	db, piece := floor(t), id.New()
	want, other := plan(t, db, piece), plan(t, db, id.New())
	want.SoldAt = minute(1)
	want.Version++
	for range 2 {
		apply(t, db, sold(piece, 1))
		check(t, db, want, other)
	}
	apply(t, db, refunded(piece, 2, false))
	check(t, db, want, other)
	if n := told(t, db, piece, "piece_left_floor"); n != 1 {
		t.Errorf("that it left is told %d times, want once", n)
	}
	want.SoldAt = time.Time{}
	want.Version++
	apply(t, db, refunded(piece, 3, true))
	check(t, db, want, other)
	if n := told(t, db, piece, "piece_back_on_floor"); n != 1 {
		t.Errorf("that it is back is told %d times, want once", n)
	}
	want.SoldAt = minute(4)
	want.Version++
	apply(t, db, sold(piece, 4))
	check(t, db, want, other)
}

// Who looks at the board sees a piece with all its stages finished as done, sold or not; so there is
// nothing to tell. Nor is there of one of which the floor knows from others alone.
func TestHandler_SoldWhenDone(t *testing.T) {
	db, done, bare := floor(t), id.New(), id.New()
	want := plan(t, db, done)
	inTx(t, db, func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `UPDATE stage SET finished_at = $1 WHERE piece_id = $2`, monday, done)
		return err
	})
	want.SoldAt = minute(1)
	apply(t, db, sold(done, 1), takenIn(bare, 1), sold(bare, 1))
	check(t, db, want, workflow.Piece{ID: bare, Tag: 7, TakenIn: monday, SoldAt: minute(1)})
	for _, piece := range []id.ID{done, bare} {
		if n := told(t, db, piece, "piece_left_floor"); n != 0 {
			t.Errorf("it is told %d times, want never", n)
		}
	}
}

// The clock of somebody who is at work on the piece runs on, and its stages and entries stay as they are.
func TestHandler_SoldUnderTheHands(t *testing.T) {
	db, piece, nell := floor(t), id.New(), id.New()
	plan(t, db, piece)
	inTx(t, db, func(ctx context.Context, tx *pg.Tx) error {
		if _, err := tx.Exec(ctx, `INSERT INTO person (id, display_name, name_key, skills, version) VALUES ($1, 'Nell', 'nell', '{}', 1)`, nell); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO clock_entry (id, person_id, piece_id, stage_id, pass, started_at, superseded, actor, reason)
			SELECT $1, $2, s.piece_id, s.id, 1, $3, false, 'Nell', '' FROM stage s WHERE s.piece_id = $4`, id.New(), nell, monday, piece)
		return err
	})
	apply(t, db, sold(piece, 1))
	err := db.View(t.Context(), func(q pg.Querier) error {
		on, err := store.New(q).Running(t.Context(), nell)
		if len(on) != 1 || !on[0].Open() || !on[0].Start.Equal(monday) {
			t.Errorf("Running = %v, want the clock as it ran", on)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Whatever order intake, sales and the plan are heard in, and however often, a piece is sold if its last
// sale was not taken back, and taken in and scrapped as intake says.
func TestHandler_ProducersInAnyOrder(t *testing.T) {
	db := floor(t)
	rapid.Check(t, func(rt *rapid.T) {
		piece := id.New()
		deliveries, want := []inbox.Event{takenIn(piece, 1)}, workflow.Piece{ID: piece, Tag: 7, TakenIn: monday, Planned: true}
		for v := range int64(rapid.IntRange(0, 4).Draw(rt, "sales events")) {
			if v%2 == 0 {
				deliveries, want.SoldAt = append(deliveries, sold(piece, v+1)), minute(int(v+1))
			} else {
				deliveries, want.SoldAt = append(deliveries, refunded(piece, v+1, true)), time.Time{}
			}
		}
		if rapid.Bool().Draw(rt, "scrapped") {
			deliveries, want.Scrapped, want.ScrappedAt = append(deliveries, scrapped(piece, 2)), true, minute(2)
		}
		left := rapid.Permutation(append(append([]inbox.Event{}, deliveries...), deliveries...)).Draw(rt, "deliveries")
		planAt := rapid.IntRange(0, len(left)).Draw(rt, "planned before")
		for i := 0; i <= len(left); i++ {
			if i == planAt {
				want.Planned = !plan(t, db, piece).Scrapped // a piece that was given up gets no plan
			}
			if i < len(left) {
				apply(t, db, left[i])
			}
		}
		got := pieces(t, db)[piece]
		got.Version = 0 // how much is told depends on what was known when
		if got != want {
			rt.Fatalf("piece is %+v, want %+v", got, want)
		}
		if count(t, db, "parked", "sales")+count(t, db, "parked", "intake") != 0 {
			rt.Fatal("events are left over")
		}
	})
}

// Sales' log is restored from a backup that knows only the first sale: the second is forgotten, and
// what intake told stays.
func TestHandler_SalesRestored(t *testing.T) {
	db, kept, lost, given := floor(t), id.New(), id.New(), id.New()
	apply(t, db, takenIn(kept, 1), takenIn(lost, 1), takenIn(given, 1), scrapped(given, 2), sold(kept, 1), sold(lost, 1))
	for range 2 {
		if err := handler(t, db).Restored(t.Context(), "sales"); err != nil {
			t.Fatal(err)
		}
	}
	in := func(piece id.ID) workflow.Piece { return workflow.Piece{ID: piece, Tag: 7, TakenIn: monday} }
	gone := in(given)
	gone.Scrapped, gone.ScrappedAt = true, minute(2)
	check(t, db, in(kept), in(lost), gone)
	apply(t, db, sold(kept, 1))
	back := in(kept)
	back.SoldAt = minute(1)
	check(t, db, back, in(lost), gone)
	if n := count(t, db, "applied", "intake"); n != 3 {
		t.Errorf("of intake %d pieces are counted, want 3", n)
	}
}
