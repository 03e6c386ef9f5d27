package consume_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// A piece that is given up before the floor knows it gets no plan any more.
func TestHandler_ScrappedBeforeThePlan(t *testing.T) {
	db, piece := floor(t), id.New()
	apply(t, db, takenIn(piece, 1), scrapped(piece, 2))
	check(t, db, workflow.Piece{ID: piece, Tag: 7, TakenIn: monday, Scrapped: true, ScrappedAt: minute(2)})
	if err := plan(t, db, piece).CheckPlan(); !fault.Is(err, "PIECE_SCRAPPED") {
		t.Errorf("CheckPlan = %v, want PIECE_SCRAPPED", err)
	}
	check(t, db, workflow.Piece{ID: piece, Tag: 7, TakenIn: monday, Scrapped: true, ScrappedAt: minute(2)})
}

// After the plan a scrap ends the work, which is told once, and no other piece is touched.
func TestHandler_ScrappedAfterThePlan(t *testing.T) {
	db, piece := floor(t), id.New()
	want, other := plan(t, db, piece), plan(t, db, id.New())
	apply(t, db, takenIn(piece, 1), takenIn(piece, 2), scrapped(piece, 3), takenIn(other.ID, 1))
	want.Scrapped, want.ScrappedAt = true, minute(3)
	want.Version++
	check(t, db, want, other)
	if n := told(t, db, piece, "work_stopped"); n != 1 {
		t.Errorf("it is told %d times, want once", n)
	}
	var p workflow.Plan
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		p, err = store.New(q).Plan(t.Context(), piece)
		return err
	})
	if err != nil || len(p.Stages) != 1 {
		t.Fatalf("Plan = %v, %v; want its stage", p, err)
	}
	if _, err := p.Finish(p.Stages[0].ID, monday, workflow.Entry{}); !fault.Is(err, "PIECE_SCRAPPED") {
		t.Errorf("Finish = %v, want PIECE_SCRAPPED", err)
	}
}

func TestHandler_Repeats(t *testing.T) {
	db, piece := floor(t), id.New()
	want := plan(t, db, piece)
	in, out := takenIn(piece, 1), scrapped(piece, 2)
	want.Scrapped, want.ScrappedAt = true, minute(2)
	want.Version++
	for range 3 {
		apply(t, db, in, out, out)
		check(t, db, want)
	}
	apply(t, db, scrapped(piece, 3)) // scrapped already
	check(t, db, want)
}

// What intake takes in the floor knows at once, before anybody does anything with it, and a plan
// that came first stays.
func TestHandler_TakenIn(t *testing.T) {
	db, piece, late := floor(t), id.New(), id.New()
	planned := plan(t, db, late)
	apply(t, db, takenIn(piece, 1), takenIn(late, 1))
	check(t, db, planned, workflow.Piece{ID: piece, Tag: 7, TakenIn: monday})
}

// A scrap that comes early waits for what it follows.
func TestHandler_Early(t *testing.T) {
	db, piece := floor(t), id.New()
	if parked := apply(t, db, scrapped(piece, 2)); parked != 1 {
		t.Errorf("%d events are parked, want 1", parked)
	}
	check(t, db)
	apply(t, db, takenIn(piece, 1))
	check(t, db, workflow.Piece{ID: piece, Tag: 7, TakenIn: monday, Scrapped: true, ScrappedAt: minute(2)})
}

// Whatever else an event may tell is only counted.
func TestHandler_OthersChangeNothing(t *testing.T) {
	db, piece, version := floor(t), id.New(), int64(0)
	want := plan(t, db, piece)
	payloads := (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
	for i := range payloads.Len() {
		if name := payloads.Get(i).Name(); name == "piece_scrapped" || name == "piece_taken_in" || name == "piece_sold" {
			continue
		}
		e := &eventsv1.Envelope{}
		e.ProtoReflect().Mutable(payloads.Get(i))
		version++
		if parked := apply(t, db, event(piece, version, e), event(id.New(), 1, e)); parked != 0 {
			t.Errorf("%s is parked", payloads.Get(i).Name())
		}
	}
	if version < 10 {
		t.Fatalf("only %d kinds of events were tried", version)
	}
	check(t, db, want)
	if n := count(t, db, "applied", "intake"); n != int(version)+1 {
		t.Errorf("%d aggregates were counted, want %d", n, version+1)
	}
}

// Whatever order the deliveries come in, however often, and wherever the plan comes
// between them, the scrapped pieces are scrapped and no others.
func TestHandler_OrderAndRepeatsDoNotMatter(t *testing.T) {
	db := floor(t)
	rapid.Check(t, func(rt *rapid.T) {
		var deliveries []inbox.Event
		given := map[id.ID]bool{}
		for range rapid.IntRange(1, 4).Draw(rt, "pieces") {
			piece := id.New()
			given[piece] = rapid.Bool().Draw(rt, "scrapped")
			deliveries = append(deliveries, takenIn(piece, 1))
			if given[piece] {
				deliveries = append(deliveries, scrapped(piece, 2))
			}
		}
		planAfter := rapid.IntRange(0, 8).Draw(rt, "plan after")
		left := rapid.Permutation(append(append([]inbox.Event{}, deliveries...), deliveries...)).Draw(rt, "deliveries")
		for batch := 0; len(left) > 0 || batch <= planAfter; batch++ {
			if batch == planAfter {
				for piece := range given {
					plan(t, db, piece)
				}
			}
			n := rapid.IntRange(0, len(left)).Draw(rt, "batch")
			apply(t, db, left[:n]...)
			left = left[n:]
		}
		got := pieces(t, db)
		for piece, scrapped := range given {
			if p := got[piece]; p.Scrapped != scrapped || p.Tag != 7 || !p.TakenIn.Equal(monday) {
				rt.Fatalf("piece is %+v, want it scrapped: %v", p, scrapped)
			}
		}
		if count(t, db, "parked", "intake") != 0 {
			rt.Fatal("events are left over")
		}
	})
}

// A log that was restored is read again from its beginning: what it says as before changes
// nothing, what it says anew is heard, though the versions are those of before. Other
// producers' events stay read.
func TestHandler_Restored(t *testing.T) {
	db, kept, lost, late := floor(t), id.New(), id.New(), id.New()
	want := plan(t, db, kept)
	history := []inbox.Event{takenIn(kept, 1), scrapped(kept, 2), takenIn(lost, 1), scrapped(lost, 2), takenIn(late, 1), takenIn(late, 2)}
	apply(t, db, history...)
	early := takenIn(kept, 9)
	listed := &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceListed{}}
	foreign, waiting := event(id.New(), 1, listed), event(id.New(), 2, listed)
	foreign.Producer, waiting.Producer = "sales", "sales"
	apply(t, db, early, foreign, waiting)
	want.Scrapped, want.ScrappedAt = true, minute(2)
	want.Version++
	all := []workflow.Piece{want, {ID: lost, Tag: 7, TakenIn: monday, Scrapped: true, ScrappedAt: minute(2)}, {ID: late, Tag: 7, TakenIn: monday}}
	check(t, db, all...)

	for range 2 { // after a crash it is told again
		if err := handler(t, db).Restored(t.Context(), "intake"); err != nil {
			t.Fatal(err)
		}
	}
	for table, left := range map[string]int{"applied": 1, "parked": 1} {
		if n := count(t, db, table, "intake"); n != 0 {
			t.Errorf("%s has %d rows of intake's, want none", table, n)
		}
		if n := count(t, db, table, "sales"); n != left {
			t.Errorf("%s has %d rows of another's, want %d", table, n, left)
		}
	}
	want.Scrapped, want.ScrappedAt = false, time.Time{}
	none := []workflow.Piece{want, {ID: lost, Tag: 7}, {ID: late, Tag: 7}}
	check(t, db, none...)

	// The backup was from before the second scrap; the third piece was scrapped since.
	apply(t, db, history[:3]...)
	want.Scrapped, want.ScrappedAt = true, minute(2)
	want.Version++ // it is told anew, for the log was restored
	some := []workflow.Piece{want, {ID: lost, Tag: 7, TakenIn: monday}, {ID: late, Tag: 7}}
	check(t, db, some...)
	apply(t, db, takenIn(late, 1), scrapped(late, 2))
	some[2] = workflow.Piece{ID: late, Tag: 7, TakenIn: monday, Scrapped: true, ScrappedAt: minute(2)}
	check(t, db, some...)
	apply(t, db, scrapped(lost, 2)) // given up a second time
	some[1].Scrapped, some[1].ScrappedAt = true, minute(2)
	check(t, db, some...)
}
