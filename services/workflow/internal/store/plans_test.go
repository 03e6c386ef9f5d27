package store_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// everyPlan reads a plan in every way there is; Stage adds its stages one by one.
func everyPlan(t *testing.T, db *pg.DB, want workflow.Plan) map[string]workflow.Plan {
	t.Helper()
	got := map[string]workflow.Plan{"Plan": readPlan(t, db, want.Piece.ID)}
	single := workflow.Plan{OnIt: want.OnIt}
	var locked workflow.Plan
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		if locked, err = st.LockPlan(ctx, want.Piece.ID); err != nil {
			return err
		}
		if single.Piece, err = st.Piece(ctx, want.Piece.ID); err != nil {
			return err
		}
		for _, s := range want.Stages {
			one, err := st.Stage(ctx, want.Piece.ID, s.ID)
			if err != nil {
				return err
			}
			single.Stages = append(single.Stages, one)
		}
		return nil
	})
	got["LockPlan"], got["Piece and Stage"] = locked, single
	return got
}

// grand is a plan with every value at its largest, whose positions are not in the order
// of the ids, nor in that of what comes after what.
func grand() workflow.Plan {
	const longest = math.MaxInt64 / time.Minute * time.Minute // the column holds more than a Duration does
	p := workflow.Plan{OnIt: map[id.ID][]string{}, Piece: workflow.Piece{ID: id.New(), Tag: 9_999_999, TakenIn: noon, Scrapped: true, Planned: true, Version: 1<<63 - 1}}
	last, middle, first := id.New(), id.New(), id.New()
	p.Stages = []workflow.Stage{
		{ID: first, Part: id.New(), PartLabel: "top", Key: "sand", Kind: "sand", Position: -1 << 31, After: []id.ID{last}, Unattended: longest},
		{ID: middle, Key: strings.Repeat(`"Öl", {NULL} `, 5), Kind: `kind's "name"`, Skill: "eye", After: []id.ID{last, first},
			SentBack: []time.Time{time.Date(1999, 12, 31, 23, 59, 59, 999_999_000, time.UTC), noon, after(1)}},
		{ID: last, Part: id.New(), PartLabel: strings.Repeat("Schränkchen ", 6), Position: 1<<31 - 1, Attended: longest},
	}
	for i := range p.Stages {
		p.Stages[i].Piece = p.Piece.ID
	}
	return p
}

func TestStore_Plan_RoundTrip(t *testing.T) {
	db := setup(t)
	plan(t, db, 7)
	want := grand()
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockNewPiece(ctx, want.Piece.ID, want.Piece.Tag, want.Piece.TakenIn); err != nil {
			return err
		}
		written := slices.Clone(want.Stages)
		slices.Reverse(written)
		if err := st.InsertStages(ctx, written); err != nil {
			return err
		}
		return st.UpdatePiece(ctx, want.Piece)
	})
	for how, got := range everyPlan(t, db, want) {
		same(t, how, want, got)
	}
}

// What a command changes of a stage or a piece is written, also where it goes back to
// nothing; what it cannot change stays, and so do all others.
func TestStore_UpdateStage(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	want, other := plan(t, db, 1), plan(t, db, 2)
	write := func(change func(s *workflow.Stage)) {
		t.Helper()
		change(&want.Stages[sandTop])
		update(t, db, want.Stages[sandTop])
		for how, got := range everyPlan(t, db, want) {
			same(t, how, want, got)
		}
		same(t, "the other", other, readPlan(t, db, other.Piece.ID))
	}
	write(func(s *workflow.Stage) { s.Assignee, s.AssignedTo = nell.ID, "Nell" })
	write(func(s *workflow.Stage) { s.FinishedAt = time.Date(1999, 12, 31, 23, 59, 59, 999_999_000, time.UTC) })
	write(func(s *workflow.Stage) { s.Assignee, s.AssignedTo = odo.ID, "Odo" })
	write(func(s *workflow.Stage) { s.FinishedAt, s.SentBack = time.Time{}, []time.Time{noon} })
	write(func(s *workflow.Stage) { s.SentBack = []time.Time{noon, after(1)} })
	write(func(s *workflow.Stage) { s.Assignee, s.AssignedTo = id.Nil, "" })

	changed := want.Stages[sandTop]
	changed.Key, changed.Kind, changed.Skill, changed.PartLabel, changed.Position, changed.After = "x", "x", "x", "x", 99, nil
	update(t, db, changed)
	same(t, "what no command changes", want, readPlan(t, db, want.Piece.ID))
}

func TestStore_UpdatePiece(t *testing.T) {
	db := setup(t)
	want, other := plan(t, db, 1), plan(t, db, 2)
	for _, p := range []workflow.Piece{{Scrapped: true, Planned: true, Version: 1<<63 - 1}, {Planned: false, Version: 3}, {Planned: true, Version: 4}} {
		want.Piece = workflow.Piece{ID: want.Piece.ID, Tag: 1, TakenIn: want.Piece.TakenIn, Scrapped: p.Scrapped, Planned: p.Planned, Version: p.Version}
		must(t, db, writtenPiece(want.Piece))
		for how, got := range everyPlan(t, db, want) {
			same(t, how, want, got)
		}
	}
	same(t, "the other", other, readPlan(t, db, other.Piece.ID))
}

// On a stage are those whose clock runs there now, by name.
func TestStore_Plan_OnIt(t *testing.T) {
	db := setup(t)
	zoe, ana, kim, odo, lin := hire(t, db, "Zoe"), hire(t, db, "Ana"), hire(t, db, "Kim"), hire(t, db, "Odo"), hire(t, db, "Lin")
	want, other := plan(t, db, 1), plan(t, db, 2)
	gone := running(lin, want, stripTop, 0)
	gone.Superseded = true
	clock(t, db, running(zoe, want, sandTop, 5), running(ana, want, sandTop, 9), running(kim, want, inspect, 2),
		stretch(zoe, want, stripTop, 1, 2), gone, running(odo, other, sandTop, 0))
	want.OnIt = map[id.ID][]string{want.Stages[sandTop].ID: {"Ana", "Zoe"}, want.Stages[inspect].ID: {"Kim"}}
	for how, got := range everyPlan(t, db, want) {
		same(t, how, want, got)
	}
}

func TestStore_Stage_NotFound(t *testing.T) {
	db := setup(t)
	p, other := plan(t, db, 1), plan(t, db, 2)
	for name, read := range map[string]work{
		"Plan":     func(ctx context.Context, st store.Store) error { _, err := st.Plan(ctx, id.New()); return err },
		"LockPlan": func(ctx context.Context, st store.Store) error { _, err := st.LockPlan(ctx, id.New()); return err },
		"Piece":    func(ctx context.Context, st store.Store) error { _, err := st.Piece(ctx, id.New()); return err },
		"Stage": func(ctx context.Context, st store.Store) error {
			_, err := st.Stage(ctx, p.Piece.ID, id.New())
			return err
		},
		"Stage of another": func(ctx context.Context, st store.Store) error {
			_, err := st.Stage(ctx, p.Piece.ID, other.Stages[0].ID)
			return err
		},
	} {
		if err := inTx(t, db, read); !fault.Is(err, "STAGE_NOT_FOUND") || !errors.Is(err, fault.NotFound) || fault.Of(err).Fields[0].Path != "stage" {
			t.Errorf("%s = %v, want STAGE_NOT_FOUND at stage", name, err)
		}
	}
}
