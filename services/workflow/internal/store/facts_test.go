package store_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// readFacts reads what a clock-on at the end of the tests' day is decided from.
func readFacts(t *testing.T, db *pg.DB, person, piece, stage id.ID) workflow.Facts {
	t.Helper()
	return readFactsAt(t, db, person, piece, stage, after(600), time.Time{})
}

func readFactsAt(t *testing.T, db *pg.DB, person, piece, stage id.ID, start, end time.Time) (f workflow.Facts) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) (err error) {
		f, err = st.ClockOnFacts(ctx, person, piece, stage, start, end)
		return err
	})
	return f
}

// known is what the facts say of a stage and a person when nothing holds them up.
func known(who workflow.Person, p workflow.Plan, stage int) workflow.Facts {
	s := p.Stages[stage]
	return workflow.Facts{Piece: p.Piece, Person: workflow.Person{ID: who.ID, Name: who.Name, Skills: who.Skills, Stations: who.Stations, Version: who.Version},
		Stage: workflow.Stage{ID: s.ID, Piece: s.Piece, Part: s.Part, PartLabel: s.PartLabel, Key: s.Key, Kind: s.Kind, Skill: s.Skill, SentBack: s.SentBack,
			FinishedAt: s.FinishedAt, Assignee: s.Assignee, AssignedTo: s.AssignedTo,
			Finish: workflow.Finish{Needs: s.Needs, Cautions: s.Cautions, DisturbsOld: s.DisturbsOld, Zone: s.Zone, Coating: s.Coating}}}
}

func TestStore_ClockOnFacts(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell", "strip", `a "b", {c}`), hire(t, db, "Odo")
	p := plan(t, db, 7)
	read := func(who workflow.Person, stage int) workflow.Facts {
		return readFacts(t, db, who.ID, p.Piece.ID, p.Stages[stage].ID)
	}
	same(t, "of nobody yet", known(nell, p, stripTop), read(nell, stripTop))

	p.Piece.Scrapped, p.Piece.ScrappedAt, p.Piece.Version = true, after(30), 1<<63-1
	must(t, db, scrapped(p.Piece.ID))
	must(t, db, writtenPiece(p.Piece))
	s := &p.Stages[stripTop]
	s.Assignee, s.AssignedTo, s.FinishedAt, s.SentBack = nell.ID, "Nell", after(1), []time.Time{after(-20), after(-10)}
	update(t, db, *s)
	same(t, "of Odo, who is refused", known(odo, p, stripTop), read(odo, stripTop))
	hers := known(nell, p, stripTop)
	hers.Stage.AssignedTo = "" // for no refusal will say it
	same(t, "of Nell, to whom it is given", hers, read(nell, stripTop))
	same(t, "of another stage", known(odo, p, stripCase), read(odo, stripCase))
}

// What the person is on the clock at is said as people say it; only what runs, only what
// counts, and only theirs.
func TestStore_ClockOnFacts_Running(t *testing.T) {
	db := setup(t)
	nell, odo, kim, lin, bo := hire(t, db, "Nell"), hire(t, db, "Odo"), hire(t, db, "Kim"), hire(t, db, "Lin"), hire(t, db, "Bo")
	p, table := plan(t, db, 7), plan(t, db, 9_999_999)
	void := running(nell, table, stripTop, 31)
	void.Superseded = true
	voidOnly := running(bo, table, stripTop, 31)
	voidOnly.Superseded = true
	part, whole, here := running(nell, table, sandTop, 30), running(odo, table, inspect, 20), running(kim, p, stripCase, 10)
	clock(t, db, void, part, whole, here, stretch(nell, p, sandTop, 0, 30), stretch(lin, p, sandTop, 0, 30), voidOnly)
	for _, c := range []struct {
		who  workflow.Person
		want *workflow.Entry
	}{
		{nell, &part},
		{odo, &whole},
		{kim, &here},
		{lin, nil},
		{bo, nil},
	} {
		want := known(c.who, p, stripCase)
		want.Other = c.want
		same(t, c.who.Name, want, readFacts(t, db, c.who.ID, p.Piece.ID, p.Stages[stripCase].ID))
	}
}

// Whatever lies at the times in question is said, to the instant: for a clock-on, which has
// no end yet, all that ends after its start. What does not count is not said, nor what is
// somebody else's.
func TestStore_ClockOnFacts_Other(t *testing.T) {
	db := setup(t)
	nell, odo, p := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 7)
	first, second, void := stretch(nell, p, sandTop, 10, 20), stretch(nell, p, stripTop, 30, 40), stretch(nell, p, inspect, 15, 90)
	void.Superseded = true
	clock(t, db, first, second, void, stretch(odo, p, inspect, 0, 300))
	for _, c := range []struct {
		from, to int // to 0: a clock-on
		want     *workflow.Entry
	}{
		{40, 0, nil}, {39, 0, &second}, {30, 0, &second}, {25, 0, &second}, {0, 0, &second},
		{40, 50, nil}, {39, 50, &second}, {20, 30, nil}, {20, 31, &second}, {19, 30, &first}, {12, 13, &first}, {0, 10, nil}, {0, 11, &first}, {0, 60, &second},
		{60, 35, nil}, // the wrong way round, which the domain refuses
	} {
		var end time.Time
		if c.to != 0 {
			end = after(c.to)
		}
		want := known(nell, p, stripCase)
		want.Other = c.want
		same(t, fmt.Sprintf("from %d to %d", c.from, c.to), want, readFactsAt(t, db, nell.ID, p.Piece.ID, p.Stages[stripCase].ID, after(c.from), end))
		if e := stretch(nell, p, stripCase, c.from, c.to); c.to > c.from {
			same(t, fmt.Sprintf("beside %d to %d", c.from, c.to), want.Other, beside(t, db, e))
		}
	}
	corrected := first
	corrected.Corrects, corrected.Start, corrected.End = first.ID, after(5), after(25)
	same(t, "beside its own correction", nil, beside(t, db, corrected))
	corrected.End = after(31)
	if other := beside(t, db, corrected); other == nil || other.ID != second.ID {
		t.Errorf("Beside = %+v, want the second", other)
	}
}

func beside(t *testing.T, db *pg.DB, e workflow.Entry) (other *workflow.Entry) {
	t.Helper()
	see(t, db, func(ctx context.Context, st store.Store) (err error) {
		other, err = st.Beside(ctx, e.Person, e.Start, e.End, e.Corrects)
		return err
	})
	return other
}

// What must be finished first comes in the order of the work, whatever the order of the
// ids or that in which the stage names it; and only what is not finished, and only what it
// names.
func TestStore_ClockOnFacts_OpenBefore(t *testing.T) {
	db := setup(t)
	nell, p := hire(t, db, "Nell"), workflow.Plan{Piece: workflow.Piece{ID: id.New(), Tag: 1, Planned: true, Version: 1}}
	const strip, fill, sand, look = 0, 1, 2, 3
	for i, key := range []string{"strip", "fill", "sand", "look"} {
		p.Stages = append(p.Stages, workflow.Stage{ID: id.New(), Piece: p.Piece.ID, PartLabel: "top", Key: key, Kind: key, Position: int32(10 - i)})
	}
	p.Stages[fill].PartLabel = ""
	p.Stages[look].Position, p.Stages[look].After = 11, []id.ID{p.Stages[strip].ID, p.Stages[sand].ID, p.Stages[fill].ID}
	must(t, db, func(ctx context.Context, st store.Store) error {
		if _, err := st.LockNewPiece(ctx, p.Piece.ID, p.Piece.Tag, p.Piece.TakenIn); err != nil {
			return err
		}
		return errors.Join(st.UpdatePiece(ctx, p.Piece), st.InsertStages(ctx, p.Stages))
	})
	plan(t, db, 2)
	check := func(stage int, open ...string) {
		t.Helper()
		want := known(nell, p, stage)
		want.OpenBefore = open
		same(t, "facts", want, readFacts(t, db, nell.ID, p.Piece.ID, p.Stages[stage].ID))
	}
	check(sand)
	check(look, "sand (top)", "fill", "strip (top)")
	p.Stages[fill].FinishedAt = after(1)
	update(t, db, p.Stages[fill])
	check(look, "sand (top)", "strip (top)")
	p.Stages[strip].FinishedAt, p.Stages[sand].FinishedAt = after(2), after(3)
	update(t, db, p.Stages...)
	check(look)
	p.Stages[sand].FinishedAt, p.Stages[sand].SentBack = time.Time{}, []time.Time{after(4)}
	update(t, db, p.Stages[sand])
	check(look, "sand (top)")
}

func TestStore_ClockOnFacts_NotFound(t *testing.T) {
	db := setup(t)
	nell, p, other := hire(t, db, "Nell"), plan(t, db, 1), plan(t, db, 2)
	piece, stage := p.Piece.ID, p.Stages[0].ID
	for name, c := range map[string]struct {
		person, piece, stage id.ID
		reason, field        string
	}{
		"Stage":          {nell.ID, piece, id.New(), "STAGE_NOT_FOUND", "stage"},
		"StageOfAnother": {nell.ID, piece, other.Stages[0].ID, "STAGE_NOT_FOUND", "stage"},
		"Piece":          {nell.ID, id.New(), stage, "STAGE_NOT_FOUND", "stage"},
		"Person":         {id.New(), piece, stage, "PERSON_NOT_FOUND", "person"},
		"Anything":       {id.New(), id.New(), id.New(), "STAGE_NOT_FOUND", "stage"},
		"NoIDs":          {id.Nil, id.Nil, id.Nil, "STAGE_NOT_FOUND", "stage"},
	} {
		err := inTx(t, db, func(ctx context.Context, st store.Store) error {
			_, err := st.ClockOnFacts(ctx, c.person, c.piece, c.stage, noon, time.Time{})
			return err
		})
		if !fault.Is(err, c.reason) || !errors.Is(err, fault.NotFound) || fault.Of(err).Fields[0].Path != c.field {
			t.Errorf("%s: ClockOnFacts = %v, want %s at %s", name, err, c.reason, c.field)
		}
	}
}
