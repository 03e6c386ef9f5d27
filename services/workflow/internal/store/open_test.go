package store_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

func opened(t *testing.T, db *pg.DB) (open []workflow.OpenPiece) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		open, err = st.Open(ctx)
		return err
	})
	return open
}

// What is left to do is read for all pieces as it is for each of them: the stages that are not
// finished, whose they are, who is at them, and what they wait for.
func TestStore_Open(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	rack := zoned(t, db, "rack")
	second, first, done, scrap := plan(t, db, 22), plan(t, db, 21), plan(t, db, 20), plan(t, db, 19)
	wet, _ := varnished(t, db, 23, rack)
	s := first.Stages[stripTop]
	s.Assignee, s.Helpers = odo.ID, []workflow.Helper{{ID: nell.ID}}
	sanded := first.Stages[sandTop] // which stays in sight: it may have dulled a film
	sanded.FinishedAt = after(10)
	update(t, db, s, sanded)
	for i := range done.Stages {
		done.Stages[i].FinishedAt = after(i)
	}
	update(t, db, done.Stages...)
	clock(t, db, running(nell, second, stripCase, 5), stretch(odo, second, stripTop, 0, 9))
	tested(t, db, test(second, id.Nil, workflow.LeadTest, 0, workflow.LeadFree))
	promise := second.Piece
	promise.Promised, promise.Value = after(600), new(int64)
	*promise.Value = 85000
	must(t, db, func(ctx context.Context, st store.Store) error { return st.Promise(ctx, promise) })
	must(t, db, scrapped(scrap.Piece.ID))

	open := opened(t, db)
	var tags []int32
	for _, o := range open {
		tags = append(tags, o.Piece.Tag)
		whole := readPlan(t, db, o.Piece.ID)
		same(t, "piece", whole.Piece, o.Piece)
		same(t, "on the clock", whole.OnIt, o.OnIt)
		for _, want := range whole.Stages {
			got, err := o.Stage(want.ID)
			if want.Finished() && want.Kind != "sand" {
				if err == nil {
					t.Errorf("%s of piece %d is finished and was read", want.Title(), o.Piece.Tag)
				}
				continue
			}
			if err != nil {
				t.Fatalf("%s of piece %d: %v", want.Title(), o.Piece.Tag, err)
			}
			same(t, "stage", want, *got)
			for _, at := range []time.Time{after(0), after(60), after(24 * 60), after(72 * 60)} {
				state, wait := whole.State(want, at)
				read, waits := o.State(*got, at)
				if state != read || !wait.Until.Likely.Equal(waits.Until.Likely) || !wait.Closes.Equal(waits.Closes) {
					t.Errorf("%s of piece %d is %s until %v and closes at %v, want %s, %v and %v", want.Title(), o.Piece.Tag, read, waits.Until, waits.Closes, state, wait.Until, wait.Closes)
				}
			}
		}
		ground := readGround(t, db, o.Piece.ID)
		same(t, "ground", ground, o.Ground)
	}
	if !slices.Equal(tags, []int32{21, 22, 23}) {
		t.Errorf("open are pieces %v, want 21, 22 and 23", tags)
	}
	if state, _ := open[2].State(wet.Stages[1], after(60)); state != workflow.Drying {
		t.Errorf("the second coat an hour after the first is %s", state)
	}
}

// Of each zone the last reading that is not later than the instant.
func TestStore_LastAirs(t *testing.T) {
	db := setup(t)
	rack, bench := zoned(t, db, "rack"), zoned(t, db, "bench")
	zoned(t, db, "booth")
	airRead(t, db, airOf(rack, 1, 20, 50), airOf(rack, 5, 21, 51), airOf(rack, 9, 22, 52), airOf(bench, 2, 15, 40))
	see(t, db, func(ctx context.Context, st store.Store) error {
		airs, err := st.LastAirs(ctx, after(8))
		if len(airs) != 2 || airs[rack.ID].Celsius() != 21 || airs[bench.ID].Celsius() != 15 || !airs[rack.ID].At.Equal(after(5)) {
			t.Errorf("LastAirs = %+v", airs)
		}
		return err
	})
}
