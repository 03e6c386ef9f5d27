package store_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// staff has every value at its largest and at its least.
func staff() map[string]workflow.Person {
	return map[string]workflow.Person{
		"Largest": {ID: id.New(), Name: strings.Repeat("Þórunn O'Brien ", 13) + `"Bob"`, Version: 1<<63 - 1, Revision: 1<<62 - 1,
			Skills: []workflow.Skill{{Word: "strip", Level: 1}, {Word: `a "b", {c}`, Level: 3}, {Level: 2}, {Word: "NULL", Level: 2}, {Word: "Öl", Level: 3}},
			Week:   wholeWeek(), DaysOff: []workflow.DayOff{{First: dayAt(2028, 2, 29), Last: dayAt(2028, 2, 29)}, {First: dayAt(2026, 7, 13), Last: dayAt(2026, 7, 24), Reason: `at "the lake", {so}`}},
			Stations: []string{"booth", "bench-2"}, ActiveFrom: dayAt(2000, 1, 1), ActiveTo: dayAt(2099, 12, 31), Role: workflow.RoleHelper},
		"Nothing": {ID: id.New(), Name: "Odo", Role: workflow.RoleHelper, Version: 1, Revision: 1},
	}
}

func dayAt(year int, month time.Month, day int) time.Time {
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

// wholeWeek has hours and breaks at their ends.
func wholeWeek() (week []workflow.WorkingDay) {
	for d := time.Sunday; d <= time.Saturday; d++ {
		week = append(week, workflow.WorkingDay{Weekday: d, Hours: workflow.Hours{Start: 0, End: 1440}, Breaks: []workflow.Hours{{Start: 720, End: 750}, {Start: 1439, End: 1440}}})
	}
	week[3] = workflow.WorkingDay{Weekday: time.Wednesday, Hours: workflow.Hours{Start: 1439, End: 0}}
	return week
}

// everyPerson reads a person, who is the first in the list, in every way there is.
func everyPerson(t *testing.T, db *pg.DB, person id.ID) map[string]workflow.Person {
	t.Helper()
	got := map[string]workflow.Person{}
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		if got["Person"], err = st.Person(ctx, person); err != nil {
			return err
		}
		list, err := st.People(ctx, id.Nil, 1)
		if err != nil || len(list) != 1 {
			t.Fatalf("People = %d, %v; want one", len(list), err)
		}
		got["People"] = list[0]
		return nil
	})
	return got
}

func TestStore_Person_RoundTrip(t *testing.T) {
	for name, want := range staff() {
		t.Run(name, func(t *testing.T) {
			db := setup(t)
			must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertPerson(ctx, want) })
			for how, got := range everyPerson(t, db, want.ID) {
				same(t, how, want, got)
			}
		})
	}
}

// What a person has become is written to them and to nobody else.
func TestStore_UpdatePerson(t *testing.T) {
	for name, want := range staff() {
		t.Run(name, func(t *testing.T) {
			db := setup(t)
			was, other := hire(t, db, "Nell", "sand"), hire(t, db, "Ana", "strip")
			want.ID = was.ID
			must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdatePerson(ctx, want) })
			for how, got := range everyPerson(t, db, want.ID) {
				same(t, how, want, got)
			}
			same(t, "the other", other, readAll(t, db).People[1])
		})
	}
}

func TestStore_Person_NotFound(t *testing.T) {
	db := setup(t)
	hire(t, db, "Nell")
	err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Person(ctx, id.New()); return err })
	if !fault.Is(err, "PERSON_NOT_FOUND") || !errors.Is(err, fault.NotFound) || fault.Of(err).Fields[0].Path != "person" {
		t.Errorf("Person = %v, want PERSON_NOT_FOUND at person", err)
	}
}

// A name is taken however it is written, by whoever comes in and by whoever is renamed.
func TestStore_Person_NameTaken(t *testing.T) {
	for name, alike := range map[string]string{
		"Nell": "NELL", "Nell van der Oord": " nell  VAN der\u00a0oord", "Ñandú": "N\u0303ANDU\u0301", "Straße": "strasse", "ﬁnn": "Finn",
	} {
		db := setup(t)
		taken, other := hire(t, db, name), hire(t, db, "Odo")
		before := readAll(t, db)
		other.Name = alike
		for how, write := range map[string]work{
			"InsertPerson": func(ctx context.Context, st store.Store) error {
				return st.InsertPerson(ctx, workflow.Person{ID: id.New(), Name: alike, Version: 1, Revision: 1})
			},
			"UpdatePerson": func(ctx context.Context, st store.Store) error { return st.UpdatePerson(ctx, other) },
		} {
			f := refusedAtCommit(t, db, fault.Exists, "PERSON_NAME_TAKEN", write)
			if len(f.Fields) != 1 || f.Fields[0].Path != "display_name" {
				t.Errorf("%s of %q beside %q blames %v, want display_name", how, alike, name, f.Fields)
			}
			same(t, how+" was refused", before, readAll(t, db))
		}
		taken.Name = alike // their own name, written otherwise
		must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdatePerson(ctx, taken) })
		hire(t, db, name+"a")
	}
}

// Of two people of one name who come in at one moment the second is refused.
func TestStore_InsertPerson_AtOnce(t *testing.T) {
	db := setup(t)
	insert := func(name string) work {
		return func(ctx context.Context, st store.Store) error {
			return st.InsertPerson(ctx, workflow.Person{ID: id.New(), Name: name, Version: 1, Revision: 1})
		}
	}
	if err := inTurn(t, db, sent(insert("Nell")), nothing, insert("nell")); !fault.Is(err, "PERSON_NAME_TAKEN") {
		t.Errorf("the second = %v, want PERSON_NAME_TAKEN", err)
	}
}

func byID(t *testing.T, db *pg.DB) func(last workflow.Person, limit int32) []workflow.Person {
	return func(last workflow.Person, limit int32) (page []workflow.Person) {
		t.Helper()
		see(t, db, func(ctx context.Context, st store.Store) (err error) {
			page, err = st.People(ctx, last.ID, limit)
			return err
		})
		return page
	}
}

func names(people []workflow.Person) (names []string) {
	for _, p := range people {
		names = append(names, p.Name)
	}
	return names
}

// People come in the order in which they came in, whenever they were written.
func TestStore_People(t *testing.T) {
	db := setup(t)
	team := make([]workflow.Person, 7)
	for i, name := range []string{"Zoe", "Ana", "Odo", "Kim", "Bo", "Lin", "Max"} {
		team[i] = workflow.Person{ID: id.New(), Name: name, Version: 1, Revision: 1}
	}
	write := func(people ...int) {
		must(t, db, func(ctx context.Context, st store.Store) error {
			for _, i := range people {
				if err := st.InsertPerson(ctx, team[i]); err != nil {
					return err
				}
			}
			return nil
		})
	}
	write(5, 2, 4, 1)
	for size := range int32(5) {
		same(t, "people", []string{"Ana", "Odo", "Bo", "Lin"}, names(pgtest.TurnPages(t, size+1, byID(t, db), nil)))
	}
	got := pgtest.TurnPages(t, 2, byID(t, db), func() { write(6, 0, 3) })
	same(t, "with some added meanwhile", []string{"Ana", "Odo", "Kim", "Bo", "Lin", "Max"}, names(got))
}
