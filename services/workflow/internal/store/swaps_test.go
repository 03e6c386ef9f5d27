package store_test

import (
	"context"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// swapOf is one of Nell's, of a stage for another or for none.
func swapOf(nell, odo workflow.Person, offered workflow.Stage, wanted *workflow.Stage) workflow.Swap {
	side := func(s workflow.Stage) workflow.Side {
		return workflow.Side{Piece: s.Piece, Stage: s.ID, Pass: s.Pass()}
	}
	w := workflow.Swap{ID: id.New(), From: workflow.Helper{ID: nell.ID, Name: nell.Name}, To: workflow.Helper{ID: odo.ID, Name: odo.Name}, Offered: side(offered), Note: "please",
		State: workflow.SwapOpen, OfferedAt: after(0)}
	if wanted != nil {
		of := side(*wanted)
		w.Wanted = &of
	}
	return w
}

// What was offered is read as it was written, by the newest first and in pages, with its stages as they are now; of
// one stage one offer is open.
func TestStore_Swaps(t *testing.T) {
	db := setup(t)
	nell, odo, tom := hire(t, db, "Nell"), hire(t, db, "Odo"), hire(t, db, "Tom")
	dresser, table := plan(t, db, 1), plan(t, db, 2)
	strip, sand := dresser.Stages[stripTop], table.Stages[stripTop]
	strip.Assignee, sand.Assignee = nell.ID, odo.ID
	update(t, db, strip, sand)
	for _, w := range []workflow.Swap{swapOf(nell, odo, strip, &sand), swapOf(odo, nell, sand, nil)} {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertSwap(ctx, w, "Nell") })
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.Swap(ctx, w.ID)
			if diff := cmp.Diff(w, got, exact); diff != "" {
				t.Errorf("swap (-want +got):\n%s", diff)
			}
			open, oops := st.OpenSwap(ctx, w.Offered.Stage)
			if oops != nil || open == nil || open.ID != w.ID {
				t.Errorf("open is %v, %v", open, oops)
			}
			return err
		})
	}
	refusedAtCommit(t, db, fault.Precondition, "SWAP_OPEN", func(ctx context.Context, st store.Store) error {
		return st.InsertSwap(ctx, swapOf(nell, tom, strip, nil), "Nell")
	})
	var first []workflow.Swap
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		if first, err = st.Swaps(ctx, nell.ID, after(0), id.Nil, 1); err != nil {
			return err
		}
		rest, err := st.Swaps(ctx, nell.ID, after(0), first[0].ID, 5)
		if err != nil || len(first) != 1 || len(rest) != 1 || first[0].From.ID != odo.ID || rest[0].From.ID != nell.ID {
			t.Errorf("pages %v and %v, %v", first, rest, err)
		}
		now, err := st.Standings(ctx, append(rest, first...)...)
		if err != nil || len(now) != 2 || now[strip.ID].Piece.Tag != 1 || now[sand.ID].Stage.Key != sand.Key {
			t.Errorf("standings %v, %v", now, err)
		}
		none, err := st.Swaps(ctx, tom.ID, after(0), id.Nil, 5)
		if len(none) > 0 {
			t.Errorf("of Tom's %v", none)
		}
		return err
	})
	ended := first[0]
	ended.State, ended.EndedAt = workflow.SwapDeclined, after(10)
	must(t, db, func(ctx context.Context, st store.Store) error { return st.EndSwap(ctx, ended) })
	see(t, db, func(ctx context.Context, st store.Store) error {
		soon, err := st.Swaps(ctx, odo.ID, after(9), id.Nil, 5)
		late, oops := st.Swaps(ctx, odo.ID, after(10), id.Nil, 5)
		if oops != nil || len(soon) != 2 || len(late) != 1 || !soon[0].EndedAt.Equal(after(10)) {
			t.Errorf("after it ended %v and %v, %v", soon, late, oops)
		}
		if open, oops := st.OpenSwap(ctx, sand.ID); open != nil || oops != nil {
			t.Errorf("open is %v, %v", open, oops)
		}
		return err
	})
	if err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Swap(ctx, id.New()); return err }); !fault.Is(err, "SWAP_NOT_FOUND") {
		t.Errorf("one that is not there = %v", err)
	}
}

// A refusal is of one pass, and over as soon as the stage is theirs, in whatever way.
func TestStore_Refusals(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	dresser := plan(t, db, 1)
	strip, other := dresser.Stages[stripTop], dresser.Stages[stripTop+1]
	refuse := func(stage workflow.Stage, person workflow.Person, pass int32) {
		t.Helper()
		must(t, db, func(ctx context.Context, st store.Store) error {
			return st.PutRefusal(ctx, workflow.StageRefusal{Stage: stage.ID, Person: person.ID, Pass: pass, Reason: "my wrist"}, "Nell", after(1))
		})
	}
	want := func(people ...id.ID) {
		t.Helper()
		var f *planning.Facts
		see(t, db, func(ctx context.Context, st store.Store) (err error) {
			f, err = st.PlanningFacts(ctx, after(70))
			return err
		})
		got := f.Refused[strip.ID]
		slices.SortFunc(got, func(a, b id.ID) int { return slices.Compare(a[:], b[:]) })
		slices.SortFunc(people, func(a, b id.ID) int { return slices.Compare(a[:], b[:]) })
		if !slices.Equal(got, people) {
			t.Errorf("refused by %v, want %v", got, people)
		}
	}
	want()
	refuse(strip, nell, 1)
	refuse(strip, nell, 1) // as often as they like
	refuse(strip, odo, 1)
	refuse(other, odo, 2) // of a pass that it does not have
	want(nell.ID, odo.ID)
	see(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.RefusedBy(ctx, odo.ID)
		if diff := cmp.Diff(map[id.ID]bool{strip.ID: true}, got); diff != "" {
			t.Errorf("refused by Odo (-want +got):\n%s", diff)
		}
		return err
	})
	strip.Assignee = nell.ID
	update(t, db, strip)
	want(odo.ID)
	strip.Helpers = []workflow.Helper{{ID: odo.ID, Name: "Odo"}}
	update(t, db, strip)
	strip.Assignee, strip.Helpers = id.Nil, nil
	update(t, db, strip)
	want()
}
