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

// Who can do a stage on a day: by the skill, its level, and whether they belong to the shop.
func TestStore_Able(t *testing.T) {
	db := setup(t)
	day := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	for name, change := range map[string]func(*workflow.Person){
		"Nell": func(*workflow.Person) {},
		"Odo":  func(p *workflow.Person) { p.Skills[0].Level = 3 },
		"Ann":  func(p *workflow.Person) { p.Skills[0].Level = 1 },
		"Tom":  func(p *workflow.Person) { p.Skills[0].Word = "spray" },
		"Abe":  func(p *workflow.Person) { p.ActiveTo = day.AddDate(0, 0, -1) },
		"Zoe":  func(p *workflow.Person) { p.ActiveFrom, p.ActiveTo = day, day },
	} {
		p := workflow.Person{ID: id.New(), Name: name, Skills: skilled("strip"), Version: 1, Revision: 1}
		change(&p)
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertPerson(ctx, p) })
	}
	for _, c := range []struct {
		stage workflow.Stage
		limit int32
		want  []string
	}{
		{workflow.Stage{Skill: "strip"}, 9, []string{"Ann", "Nell", "Odo", "Zoe"}},
		{workflow.Stage{Skill: "strip"}, 3, []string{"Ann", "Nell", "Odo"}},
		{workflow.Stage{Skill: "strip", SkillLevel: 2}, 9, []string{"Nell", "Odo", "Zoe"}},
		{workflow.Stage{Skill: "strip", SkillLevel: 3}, 9, []string{"Odo"}},
		{workflow.Stage{}, 9, []string{"Ann", "Nell", "Odo", "Tom", "Zoe"}},
		{workflow.Stage{Skill: "gild"}, 9, nil},
	} {
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.Able(ctx, c.stage, time.Date(2026, 3, 2, 23, 30, 0, 0, time.FixedZone("EST", -5*3600)), c.limit)
			if !slices.Equal(got, c.want) {
				t.Errorf("Able(%q from %d) = %v, want %v", c.stage.Skill, c.stage.SkillLevel, got, c.want)
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
