package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

func scrapped(piece id.ID) work {
	return func(ctx context.Context, st store.Store) error { return st.Scrap(ctx, piece, after(30)) }
}

// The floor meets a piece when it is planned or when it is scrapped, whichever is first.
// It learns the tag and when the piece came in with the plan, and forgets nothing.
func TestStore_LockNewPiece(t *testing.T) {
	worked := func(piece id.ID) work {
		return func(ctx context.Context, st store.Store) error {
			if _, err := st.LockNewPiece(ctx, piece, 5, after(-5)); err != nil {
				return err
			}
			return st.UpdatePiece(ctx, workflow.Piece{ID: piece, Planned: true, Version: 3})
		}
	}
	for name, c := range map[string]struct {
		before []func(piece id.ID) work
		want   workflow.Piece
	}{
		"New":              {nil, workflow.Piece{Tag: 7, TakenIn: noon}},
		"Scrapped":         {[]func(id.ID) work{scrapped}, workflow.Piece{Tag: 7, TakenIn: noon, Scrapped: true, ScrappedAt: after(30)}},
		"ScrappedTwice":    {[]func(id.ID) work{scrapped, scrapped}, workflow.Piece{Tag: 7, TakenIn: noon, Scrapped: true, ScrappedAt: after(30)}},
		"Planned":          {[]func(id.ID) work{worked}, workflow.Piece{Tag: 7, TakenIn: noon, Planned: true, Version: 3}},
		"PlannedThenGiven": {[]func(id.ID) work{worked, scrapped}, workflow.Piece{Tag: 7, TakenIn: noon, Planned: true, Scrapped: true, ScrappedAt: after(30), Version: 3}},
	} {
		t.Run(name, func(t *testing.T) {
			db := setup(t)
			piece, other := id.New(), plan(t, db, 2)
			for _, step := range c.before {
				must(t, db, step(piece))
			}
			c.want.ID = piece
			must(t, db, func(ctx context.Context, st store.Store) error {
				for range 2 {
					got, err := st.LockNewPiece(ctx, piece, 7, noon)
					if err != nil {
						return err
					}
					same(t, "LockNewPiece", c.want, got)
				}
				return nil
			})
			same(t, "afterwards", workflow.Plan{Piece: c.want}, readPlan(t, db, piece))
			same(t, "the other", other, readPlan(t, db, other.Piece.ID))
		})
	}
}

// A piece that is given up before anybody has said its number has none. It is given up once.
func TestStore_Scrap(t *testing.T) {
	db := setup(t)
	known, other, unknown := plan(t, db, 1), plan(t, db, 2), id.New()
	for again := range 2 {
		at := after(30 + again)
		must(t, db, func(ctx context.Context, st store.Store) error {
			return errors.Join(st.Scrap(ctx, unknown, at), st.Scrap(ctx, known.Piece.ID, at))
		})
		known.Piece.Scrapped, known.Piece.ScrappedAt = true, after(30)
		same(t, "unknown", workflow.Plan{Piece: workflow.Piece{ID: unknown, Scrapped: true, ScrappedAt: after(30)}}, readPlan(t, db, unknown))
		same(t, "known", known, readPlan(t, db, known.Piece.ID))
		same(t, "the other", other, readPlan(t, db, other.Piece.ID))
	}
}

// lockers are the ways to read a piece in order to change it; open is a person whose clock
// runs there, and free one whose clock does not run.
func lockers(p workflow.Plan, open, free workflow.Person, got *workflow.Piece) map[string]work {
	return map[string]work{
		"ClockOnFacts": func(ctx context.Context, st store.Store) error {
			f, err := st.ClockOnFacts(ctx, free.ID, p.Piece.ID, p.Stages[stripTop].ID, after(600), time.Time{})
			*got = f.Piece
			return err
		},
		"LockOpen": func(ctx context.Context, st store.Store) error {
			_, pieces, err := st.LockOpen(ctx, open.ID)
			*got = pieces[p.Piece.ID]
			return err
		},
		"LockPlan": func(ctx context.Context, st store.Store) error {
			plan, err := st.LockPlan(ctx, p.Piece.ID)
			*got = plan.Piece
			return err
		},
		"Piece": func(ctx context.Context, st store.Store) (err error) {
			*got, err = st.Piece(ctx, p.Piece.ID)
			return err
		},
		"LockNewPiece": func(ctx context.Context, st store.Store) (err error) {
			*got, err = st.LockNewPiece(ctx, p.Piece.ID, p.Piece.Tag, p.Piece.TakenIn)
			return err
		},
	}
}

// Each of them waits for each other one, and sees what it has written. (Two that begin
// with one person wait for that person already.)
func TestStore_LocksOfAPiece(t *testing.T) {
	db := setup(t)
	nell, odo, p := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 1)
	clock(t, db, running(odo, p, stripCase, 0))
	var before, got workflow.Piece
	for first, lock := range lockers(p, odo, nell, &before) {
		for second, read := range lockers(p, odo, nell, &got) {
			if first == second && (first == "LockOpen" || first == "ClockOnFacts") {
				continue
			}
			want := p.Piece
			p.Piece.Version++
			if err := inTurn(t, db, lock, writtenPiece(p.Piece), read); err != nil {
				t.Fatalf("%s, then %s: %v", first, second, err)
			}
			same(t, first+", then "+second+": the first", want, before)
			same(t, first+", then "+second+": the second", p.Piece, got)
		}
	}
}

// A plan and a scrap that come at one moment: whichever is first, the piece is scrapped
// and has its plan, and a plan that is late sees the scrap.
func TestStore_ScrapAndPlanAtOnce(t *testing.T) {
	t.Run("PlanFirst", func(t *testing.T) {
		db := setup(t)
		p := plan(t, db, 1)
		var locked workflow.Plan
		p.Piece.Version = 2
		if err := inTurn(t, db, lockPlan(p, &locked), writtenPiece(p.Piece), scrapped(p.Piece.ID)); err != nil {
			t.Fatal(err)
		}
		p.Piece.Scrapped, p.Piece.ScrappedAt = true, after(30)
		same(t, "plan", p, readPlan(t, db, p.Piece.ID))
	})
	t.Run("NewPlanFirst", func(t *testing.T) {
		db := setup(t)
		want := workflow.Piece{ID: id.New(), Tag: 7, TakenIn: noon, Planned: true, Version: 1}
		lock := func(ctx context.Context, st store.Store) error {
			_, err := st.LockNewPiece(ctx, want.ID, 7, noon)
			return err
		}
		if err := inTurn(t, db, lock, writtenPiece(want), scrapped(want.ID)); err != nil {
			t.Fatal(err)
		}
		want.Scrapped, want.ScrappedAt = true, after(30)
		same(t, "piece", want, readPlan(t, db, want.ID).Piece)
	})
	t.Run("ScrapFirst", func(t *testing.T) {
		db := setup(t)
		piece := id.New()
		var got workflow.Piece
		lock := func(ctx context.Context, st store.Store) (err error) {
			got, err = st.LockNewPiece(ctx, piece, 7, noon)
			return err
		}
		if err := inTurn(t, db, sent(scrapped(piece)), nothing, lock); err != nil {
			t.Fatal(err)
		}
		same(t, "piece", workflow.Piece{ID: piece, Tag: 7, TakenIn: noon, Scrapped: true, ScrappedAt: after(30)}, got)
	})
}

// Two people plan a new piece at once: the second sees that it is planned.
func TestStore_LockNewPiece_AtOnce(t *testing.T) {
	db := setup(t)
	want := workflow.Piece{ID: id.New(), Tag: 7, TakenIn: noon, Planned: true, Version: 1}
	var got workflow.Piece
	lock := func(ctx context.Context, st store.Store) (err error) {
		got, err = st.LockNewPiece(ctx, want.ID, 7, noon)
		return err
	}
	if err := inTurn(t, db, lock, writtenPiece(want), lock); err != nil {
		t.Fatal(err)
	}
	same(t, "the second read", want, got)
}
