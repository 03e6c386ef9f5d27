package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

func lockFacts(who workflow.Person, p workflow.Plan, stage int, got *workflow.Facts) work {
	return func(ctx context.Context, st store.Store) (err error) {
		*got, err = st.ClockOnFacts(ctx, who.ID, p.Piece.ID, p.Stages[stage].ID, after(600), time.Time{})
		return err
	}
}

// lockPlan locks a piece and gives its plan.
func lockPlan(p workflow.Plan, got *workflow.Plan) work {
	return func(ctx context.Context, st store.Store) (err error) {
		*got, err = st.LockPlan(ctx, p.Piece.ID)
		return err
	}
}

// lockPerson locks a person and sends that, which was put off.
func lockPerson(p workflow.Person) work {
	return sent(func(ctx context.Context, st store.Store) error { return st.LockPerson(ctx, p.ID) })
}

func writtenPiece(p workflow.Piece) work {
	return func(ctx context.Context, st store.Store) error { return st.UpdatePiece(ctx, p) }
}

// One person clocks on twice at once, at two pieces: the second sees the first.
func TestStore_ClockOnFacts_OnePersonAtATime(t *testing.T) {
	db := setup(t)
	nell, dresser, table := hire(t, db, "Nell"), plan(t, db, 1), plan(t, db, 2)
	var first, second workflow.Facts
	e := running(nell, dresser, stripTop, 0)
	if err := inTurn(t, db, lockFacts(nell, dresser, stripTop, &first), inserted(e), lockFacts(nell, table, stripTop, &second)); err != nil {
		t.Fatal(err)
	}
	if first.Other != nil || second.Other == nil || second.Other.ID != e.ID {
		t.Errorf("on the clock are %v and then %v, want the first's entry", first.Other, second.Other)
	}
}

// Two people end one stage at once, or one clocks on while the other ends it: the second
// sees that it is finished.
func TestStore_LockPlan_SeesWhatItWaitedFor(t *testing.T) {
	db := setup(t)
	nell, p := hire(t, db, "Nell"), plan(t, db, 1)
	var first, second workflow.Plan
	var facts workflow.Facts
	end := func(stage int) work {
		return func(ctx context.Context, st store.Store) error {
			s := first.Stages[stage]
			s.FinishedAt = after(5)
			return st.UpdateStage(ctx, s)
		}
	}
	if err := inTurn(t, db, lockPlan(p, &first), end(stripTop), lockPlan(p, &second)); err != nil {
		t.Fatal(err)
	}
	if err := inTurn(t, db, lockPlan(p, &first), end(stripCase), lockFacts(nell, p, stripCase, &facts)); err != nil {
		t.Fatal(err)
	}
	if !second.Stages[stripTop].Finished() || !facts.Stage.Finished() {
		t.Error("who waited did not see the finished stage")
	}
}

// A clock that two people stop at once is stopped once.
func TestStore_LockOpen_OneAtATime(t *testing.T) {
	db := setup(t)
	nell, p := hire(t, db, "Nell"), plan(t, db, 1)
	e := running(nell, p, stripTop, 0)
	clock(t, db, e)
	lock := func(ctx context.Context, st store.Store) error { _, _, err := st.LockOpen(ctx, nell.ID); return err }
	e.End = after(30)
	stop := func(ctx context.Context, st store.Store) error { return st.EndEntry(ctx, e) }
	if err := inTurn(t, db, lock, stop, lock); !fault.Is(err, "CLOCK_NOT_OPEN") {
		t.Errorf("the second = %v, want CLOCK_NOT_OPEN", err)
	}
}

// A person is locked before a piece: who waits for the person keeps no piece meanwhile,
// so that no two can wait for each other.
func TestStore_PersonBeforePiece(t *testing.T) {
	db := setup(t)
	nell, p := hire(t, db, "Nell"), plan(t, db, 1)
	clock(t, db, running(nell, p, stripTop, 0))
	var facts workflow.Facts
	for name, second := range map[string]work{
		"ClockOnFacts": lockFacts(nell, p, stripTop, &facts),
		"LockOpen":     func(ctx context.Context, st store.Store) error { _, _, err := st.LockOpen(ctx, nell.ID); return err },
	} {
		var plan workflow.Plan
		pieceIsFree := func(context.Context, store.Store) error { return inTx(t, db, lockPlan(p, &plan)) }
		if err := inTurn(t, db, lockPerson(nell), pieceIsFree, second); err != nil {
			t.Errorf("%s = %v", name, err)
		}
	}
}

// Those who only look wait for nobody, nor do others at other pieces, nor those who give a
// stage to somebody who is just clocking on.
func TestStore_WaitsForNobody(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	dresser, table := plan(t, db, 1), plan(t, db, 2)
	before := readAll(t, db, dresser.Piece.ID, table.Piece.ID)
	var first, second workflow.Facts
	must(t, db, func(ctx context.Context, st store.Store) error {
		if err := lockFacts(nell, dresser, stripTop, &first)(ctx, st); err != nil {
			return err
		}
		e := running(nell, dresser, stripTop, 0)
		if err := sent(inserted(e))(ctx, st); err != nil {
			return err
		}
		same(t, "before the commit others", before, readAll(t, db, dresser.Piece.ID, table.Piece.ID))
		must(t, db, lockFacts(odo, table, stripTop, &second))
		s := table.Stages[stripCase]
		s.Assignee = nell.ID
		update(t, db, s)
		return nil
	})
}

// A person is renamed while their clock is read: the second waits and sees the new name.
func TestStore_LockPerson(t *testing.T) {
	db := setup(t)
	nell, p := hire(t, db, "Nell", "strip"), plan(t, db, 1)
	var facts workflow.Facts
	changed := nell
	changed.Name, changed.Skills, changed.Version = "Nellie", skilled("strip", "eye"), 2
	write := func(ctx context.Context, st store.Store) error { return st.UpdatePerson(ctx, changed) }
	if err := inTurn(t, db, lockPerson(nell), write, lockFacts(nell, p, stripTop, &facts)); err != nil {
		t.Fatal(err)
	}
	same(t, "facts", known(changed, p, stripTop), facts)
}
