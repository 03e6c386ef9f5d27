package store_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// Somebody else is chosen from all people, with when they work and where they may, and from the
// stations of the kinds that stages need, or from the one that is named.
func TestStore_Crew(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell", "strip"), hire(t, db, "Odo")
	abe := workflow.Person{ID: id.New(), Name: "Abe", Skills: skilled("spray"), Stations: []string{"booth-1"}, Role: workflow.RoleHelper, Version: 1, Revision: 1, ActiveTo: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC),
		Week:    []workflow.WorkingDay{{Weekday: time.Monday, Hours: workflow.Hours{Start: 480, End: 990}, Breaks: []workflow.Hours{{Start: 720, End: 750}}}},
		DaysOff: []workflow.DayOff{{First: time.Date(2026, 2, 2, 0, 0, 0, 0, time.UTC), Last: time.Date(2026, 2, 6, 0, 0, 0, 0, time.UTC), Reason: "at the lake"}}}
	must(t, db, func(ctx context.Context, st store.Store) error {
		for word, kind := range map[string]workflow.StationKind{"booth-1": workflow.SprayBooth, "booth-2": workflow.SprayBooth, "bench": workflow.Bench, "rack": workflow.DryingRack} {
			err := st.SaveStation(ctx, workflow.Station{ID: id.New(), Word: word, Name: word, Kind: kind, Capacity: 1, Unit: workflow.InPieces, Version: 1})
			if err != nil {
				return err
			}
		}
		return st.InsertPerson(ctx, abe)
	})
	in := func(kinds ...string) (stages []workflow.Stage) {
		for _, k := range kinds {
			stages = append(stages, workflow.Stage{Finish: workflow.Finish{Station: k}})
		}
		return stages
	}
	for _, c := range []struct {
		stages []workflow.Stage
		word   string
		want   []string
	}{
		{in("booth"), "", []string{"booth-1", "booth-2"}},
		{in("booth", "", "bench"), "", []string{"bench", "booth-1", "booth-2"}},
		{in(""), "", nil},
		{in("booth"), "booth-2", []string{"booth-2"}},
		{in(""), "rack", []string{"rack"}},
		{in("booth"), "nowhere", nil},
	} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.Crew(ctx, c.stages, c.word)
			same(t, "People", []workflow.Person{abe, nell, odo}, got.People)
			var words []string
			for _, s := range got.Stations {
				words = append(words, s.Word)
			}
			if !slices.Equal(words, c.want) {
				t.Errorf("Crew(%q) has the stations %v, want %v", c.word, words, c.want)
			}
			return err
		})
	}
}

func TestStore_LockPeople(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell", "strip"), hire(t, db, "Odo")
	must(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.LockPeople(ctx, odo.ID, nell.ID)
		same(t, "LockPeople", map[id.ID]workflow.Person{nell.ID: nell, odo.ID: odo}, got)
		if _, err := st.LockPeople(ctx, nell.ID, id.New()); !fault.Is(err, "PERSON_NOT_FOUND") {
			t.Errorf("LockPeople with a stranger = %v", err)
		}
		return err
	})
}
