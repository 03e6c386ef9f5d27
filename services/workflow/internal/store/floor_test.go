package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// skilled are skills at the usual level.
func skilled(words ...string) []workflow.Skill {
	out := make([]workflow.Skill, len(words))
	for i, w := range words {
		out[i] = workflow.NewSkill(w, 0)
	}
	return out
}

// hire keeps a person.
func hire(t *testing.T, db *pg.DB, name string, skills ...string) workflow.Person {
	t.Helper()
	p := workflow.Person{ID: id.New(), Name: name, Stations: []string{}, Week: []workflow.WorkingDay{}, DaysOff: []workflow.DayOff{}, Skills: skilled(skills...), Role: workflow.RoleHelper, Version: 1, Revision: 1}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertPerson(ctx, p) })
	return p
}

// The stages of the tests' pieces, by their index in the plan.
const (
	stripTop = iota
	stripCase
	sandTop
	inspect
)

// plan keeps a piece whose top is stripped and sanded and whose case is stripped, before
// the whole is inspected.
func plan(t *testing.T, db *pg.DB, tag int32) workflow.Plan {
	t.Helper()
	piece, top, body := id.New(), id.New(), id.New()
	p := workflow.Plan{Piece: workflow.Piece{ID: piece, Tag: tag, TakenIn: after(-60), Planned: true, Version: 1}, OnIt: map[id.ID][]string{}, Stages: []workflow.Stage{
		{Part: top, PartLabel: "top", Key: "strip", Kind: "strip", Skill: "strip", Attended: 30 * time.Minute, Unattended: time.Hour},
		{Part: body, PartLabel: "case", Key: "strip", Kind: "strip", Skill: "strip", Attended: 45 * time.Minute},
		{Part: top, PartLabel: "top", Key: "sand", Kind: "sand", Attended: 20 * time.Minute},
		{Key: "look", Kind: "inspect", Skill: "eye", Attended: 5 * time.Minute},
	}}
	for i := range p.Stages {
		s := &p.Stages[i]
		s.ID, s.Piece, s.Position = id.New(), piece, int32(i+1)
	}
	p.Stages[sandTop].After = []id.ID{p.Stages[stripTop].ID}
	p.Stages[inspect].After = []id.ID{p.Stages[sandTop].ID, p.Stages[stripCase].ID}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockNewPiece(ctx, piece, tag, p.Piece.TakenIn); err != nil {
			return err
		}
		if err := st.InsertStages(ctx, p.Stages); err != nil {
			return err
		}
		return st.UpdatePiece(ctx, p.Piece)
	})
	return p
}

// update writes stages as they are now.
func update(t *testing.T, db *pg.DB, stages ...workflow.Stage) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		for _, s := range stages {
			if err := st.UpdateStage(ctx, s); err != nil {
				return err
			}
		}
		return nil
	})
}

// stretch is a person's time on a stage, in minutes after noon.
func stretch(who workflow.Person, p workflow.Plan, stage, from, to int) workflow.Entry {
	e := running(who, p, stage, from)
	e.End = after(to)
	return e
}

// running is a stretch that has not ended.
func running(who workflow.Person, p workflow.Plan, stage, from int) workflow.Entry {
	s := p.Stages[stage]
	return workflow.Entry{ID: id.New(), Person: who.ID, PersonName: who.Name, Piece: p.Piece.ID, PieceTag: p.Piece.Tag,
		Stage: s.ID, StageKey: s.Key, StageKind: s.Kind, PartLabel: s.PartLabel, Pass: s.Pass(), Start: after(from), Weight: 1, Actor: "Nell"}
}

// clock keeps entries as they are.
func clock(t *testing.T, db *pg.DB, entries ...workflow.Entry) {
	t.Helper()
	must(t, db, inserted(entries...))
}

func inserted(entries ...workflow.Entry) work {
	return func(ctx context.Context, st store.Store) error {
		for _, e := range entries {
			if err := st.InsertEntry(ctx, e); err != nil {
				return err
			}
		}
		return nil
	}
}

func readPlan(t *testing.T, db *pg.DB, piece id.ID) (p workflow.Plan) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		p, err = st.Plan(ctx, piece)
		return err
	})
	return p
}

func readEntry(t *testing.T, db *pg.DB, entry id.ID) (e workflow.Entry) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		e, err = st.Entry(ctx, entry)
		return err
	})
	return e
}

// everything is all that the store keeps, as it is read.
type everything struct {
	People  []workflow.Person
	Routes  []workflow.Route
	Plans   []workflow.Plan
	Entries []workflow.Entry
}

func readAll(t *testing.T, db *pg.DB, pieces ...id.ID) (all everything) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		if all.People, err = st.People(ctx, id.Nil, 100); err != nil {
			return err
		}
		if all.Routes, err = st.ListRoutes(ctx, "", 100); err != nil {
			return err
		}
		for _, piece := range pieces {
			p, err := st.Plan(ctx, piece)
			if err != nil {
				return err
			}
			all.Plans = append(all.Plans, p)
		}
		all.Entries, err = st.Entries(ctx, store.Filter{}, store.Mark{}, 100)
		return err
	})
	return all
}
