package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// The facts of the plan are the open pieces with their stages, who is there, and what was pinned and worked.
func TestStore_PlanningFacts(t *testing.T) {
	db := setup(t)
	nell := hire(t, db, "Nell")
	dresser, done := plan(t, db, 1), plan(t, db, 2)
	for _, s := range done.Stages {
		s.FinishedAt = after(1)
		update(t, db, s)
	}
	clock(t, db, stretch(nell, dresser, stripTop, 0, 30), stretch(nell, dresser, stripTop, 40, 60))
	strip := dresser.Stages[stripTop].ID
	pin := workflow.PlanPin{Stage: strip, Pass: 1, Person: nell.ID, At: after(100)}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.PutPin(ctx, pin, "Lead", after(0)) })
	var f *planning.Facts
	var got *workflow.PlanPin
	read := func() {
		t.Helper()
		must(t, db, func(ctx context.Context, st store.Store) (err error) {
			if f, err = st.PlanningFacts(ctx, after(70)); err == nil {
				got, err = st.PinOf(ctx, strip)
			}
			return err
		})
	}
	read()
	if len(f.Pieces) != 1 || f.Pieces[0].Piece.ID != dresser.Piece.ID || len(f.Pieces[0].Stages) != len(dresser.Stages) || len(f.People) != 1 || f.Labour == nil {
		t.Errorf("facts %+v", f)
	}
	if diff := cmp.Diff(map[id.ID]time.Duration{strip: 50 * time.Minute}, f.Worked); diff != "" {
		t.Errorf("worked (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(map[id.ID]workflow.PlanPin{strip: pin}, f.Pins); diff != "" || got == nil || !got.At.Equal(pin.At) {
		t.Errorf("pins, and %v (-want +got):\n%s", got, diff)
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.DeletePin(ctx, strip) })
	if read(); len(f.Pins) > 0 || got != nil {
		t.Errorf("taken away, and still there: %v, %v", f.Pins, got)
	}
}
