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

// overtakings are what becomes of a stage of an offer, or of its piece, after it was made, and the reason that the
// domain has for the offer to be over by that; empty: it is not. The stage is still of who had it.
var overtakings = []struct {
	reason string
	change func(s *workflow.Stage, gets, third workflow.Helper)
	leaves func(piece id.ID) work
}{
	{"", func(*workflow.Stage, workflow.Helper, workflow.Helper) {}, nil},
	{"SWAP_FINISHED", func(s *workflow.Stage, _, _ workflow.Helper) { s.FinishedAt = after(5) }, nil},
	{"SWAP_SENT_BACK", func(s *workflow.Stage, _, _ workflow.Helper) { s.SentBack = []time.Time{after(5)} }, nil},
	{"", func(s *workflow.Stage, _, third workflow.Helper) { s.Helpers = []workflow.Helper{third} }, nil},
	{"SWAP_GIVEN_AWAY", func(s *workflow.Stage, _, third workflow.Helper) { s.Assignee = third.ID }, nil},
	{"SWAP_GIVEN_AWAY", func(s *workflow.Stage, _, _ workflow.Helper) { s.Assignee = id.Nil }, nil},
	{"", func(s *workflow.Stage, _, third workflow.Helper) {
		s.Assignee, s.Helpers = third.ID, []workflow.Helper{{ID: s.Assignee}}
	}, nil},
	{"SWAP_SHARED", func(s *workflow.Stage, gets, _ workflow.Helper) { s.Helpers = []workflow.Helper{gets} }, nil},
	{"SWAP_SHARED", func(s *workflow.Stage, gets, _ workflow.Helper) {
		s.Assignee, s.Helpers = gets.ID, []workflow.Helper{{ID: s.Assignee}}
	}, nil},
	{"SWAP_OFF_FLOOR", nil, scrapped},
	{"SWAP_OFF_FLOOR", nil, func(piece id.ID) work {
		return func(ctx context.Context, st store.Store) error {
			_, err := st.Sell(ctx, piece, after(5))
			return err
		}
	}},
}

// offerEach has Nell offer a stage for one of Odo's, once for each overtaking of either of them, and gives the reason
// of each offer and those that stand, the newest first.
func offerEach(t *testing.T, db *pg.DB, nell, odo, tom workflow.Person) (reasons map[id.ID]string, stand []id.ID) {
	t.Helper()
	reasons = map[id.ID]string{}
	for i, c := range overtakings {
		for side := range 2 {
			tag := int32(4*i + 2*side)
			sides := []workflow.Stage{plan(t, db, tag+1).Stages[stripTop], plan(t, db, tag+2).Stages[stripTop]}
			sides[0].Assignee, sides[1].Assignee = nell.ID, odo.ID
			w := swapOf(nell, odo, sides[0], &sides[1])
			must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertSwap(ctx, w, "Nell") })
			if c.leaves != nil {
				must(t, db, c.leaves(sides[side].Piece))
			} else {
				c.change(&sides[side], []workflow.Helper{w.To, w.From}[side], workflow.Helper{ID: tom.ID, Name: tom.Name})
			}
			update(t, db, sides...)
			if reasons[w.ID] = c.reason; c.reason == "" {
				stand = slices.Insert(stand, 0, w.ID)
			}
		}
	}
	return reasons, stand
}

// listed walks through the pages of somebody's offers; all but the last are full.
func listed(t *testing.T, db *pg.DB, person id.ID, since time.Time, limit int32) (all []workflow.Swap) {
	t.Helper()
	for last := id.Nil; ; last = all[len(all)-1].ID {
		var some []workflow.Swap
		see(t, db, func(ctx context.Context, st store.Store) (err error) {
			some, err = st.Swaps(ctx, person, since, last, limit)
			return err
		})
		if all = append(all, some...); len(some) < int(limit) {
			return all
		}
	}
}

// Of open offers that were made before an instant those are listed that are not over, by the rules of the domain,
// whatever was overtaken after them; of those that were made since, all.
func TestStore_Swaps_Overtaken(t *testing.T) {
	db := setup(t)
	nell, odo, tom := hire(t, db, "Nell"), hire(t, db, "Odo"), hire(t, db, "Tom")
	reasons, stand := offerEach(t, db, nell, odo, tom)
	all := listed(t, db, nell.ID, after(-1), 5)
	if len(all) != len(reasons) {
		t.Errorf("of those that were offered since, %d of %d are listed", len(all), len(reasons))
	}
	see(t, db, func(ctx context.Context, st store.Store) error {
		now, err := st.Standings(ctx, all...)
		for _, w := range all {
			reason := ""
			if said := w.Overtaken([]workflow.Standing{now[w.Offered.Stage], now[w.Wanted.Stage]}); said != nil {
				reason = said.Reason
			}
			if reason != reasons[w.ID] {
				t.Errorf("the domain says %q of what is meant as %q", reason, reasons[w.ID])
			}
		}
		return err
	})
	for _, person := range []id.ID{nell.ID, odo.ID} {
		var got []id.ID
		for _, w := range listed(t, db, person, after(0), 2) {
			got = append(got, w.ID)
			if reasons[w.ID] != "" {
				t.Errorf("listed is one that is over: %s", reasons[w.ID])
			}
		}
		if !slices.Equal(got, stand) {
			t.Errorf("of those that were offered before, %d are listed, want %d that stand", len(got), len(stand))
		}
	}
}

// What somebody ended is listed by when it ended, what gave way to another offer by when it was made.
func TestStore_Swaps_Ended(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	strip := plan(t, db, 1).Stages[stripTop]
	for _, state := range []workflow.SwapState{workflow.SwapAccepted, workflow.SwapDeclined, workflow.SwapWithdrawn, workflow.SwapOvertaken} {
		w := swapOf(nell, odo, strip, nil)
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertSwap(ctx, w, "Nell") })
		w.State, w.EndedAt = state, after(10)
		must(t, db, func(ctx context.Context, st store.Store) error { return st.EndSwap(ctx, w) })
	}
	for since, want := range map[int][]workflow.SwapState{
		-1: {workflow.SwapOvertaken, workflow.SwapWithdrawn, workflow.SwapDeclined, workflow.SwapAccepted},
		0:  {workflow.SwapWithdrawn, workflow.SwapDeclined, workflow.SwapAccepted},
		10: nil,
	} {
		var got []workflow.SwapState
		for _, w := range listed(t, db, odo.ID, after(since), 5) {
			got = append(got, w.State)
		}
		if !slices.Equal(got, want) {
			t.Errorf("since %d are listed %v, want %v", since, got, want)
		}
	}
}
