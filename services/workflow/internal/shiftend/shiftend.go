// Package shiftend finds the clocks that still run although their shift is over, and puts
// them to the lead. It never ends one: nobody but people knows when the work was over.
//
//	each minute ─▶ clocks that run and of which nothing was raised ─▶ past their shift?
//	      a person: BEGIN; lock them; look again; raise a review; append the event; COMMIT
//
// A clock is raised once, whoever looks: the database forbids a second review of it.
package shiftend

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/spans"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// Keeper looks for them.
type Keeper struct {
	DB     *pg.DB
	Log    *outbox.Log
	Shop   wire.Shop
	Logger *slog.Logger
	Every  time.Duration // how often it looks; 0: each minute
}

// actor is who raises them.
const actor = "shift end"

// Run looks until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	ctx = caller.With(ctx, caller.Caller{Actor: actor})
	ticker := time.NewTicker(cmp.Or(k.Every, time.Minute))
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
		if err := k.Look(ctx); err != nil && ctx.Err() == nil {
			k.Logger.WarnContext(ctx, "clocks past their shift", "error", err)
		}
	}
}

// Look raises what is forgotten by now. A clock that cannot be raised does not hold up the others.
func (k *Keeper) Look(ctx context.Context) error {
	now := k.Shop.Now()
	var running []store.Running
	err := k.DB.View(ctx, func(q pg.Querier) (err error) {
		running, err = store.New(q).RunningUntold(ctx, now.Add(-workflow.LooksAgain))
		return err
	})
	if err != nil {
		return err
	}
	for _, r := range running {
		if failed := k.look(ctx, r, now); failed != nil {
			err = errors.Join(err, fmt.Errorf("clock %s: %w", r.Entry, failed))
		}
	}
	return err
}

// look raises one clock, if it is forgotten.
func (k *Keeper) look(ctx context.Context, r store.Running, now time.Time) error {
	return k.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		if err := st.LockPerson(ctx, r.Person); err != nil {
			return err
		}
		person, err := st.Person(ctx, r.Person)
		if err != nil {
			return err
		}
		shiftEnd, forgotten := person.Overrun(r.Start.In(k.Shop.Zone), now)
		if !forgotten {
			return nil
		}
		return k.raise(ctx, tx, person, r.Entry, shiftEnd, now)
	})
}

// raise writes the review of a clock that still runs, and tells it.
func (k *Keeper) raise(ctx context.Context, tx *pg.Tx, person workflow.Person, entry id.ID, shiftEnd, now time.Time) error {
	st := store.New(tx)
	e, err := st.Entry(ctx, entry)
	if err != nil || !e.Open() || e.Superseded {
		return err
	}
	e.Start = e.Start.In(k.Shop.Zone)
	batch := workflow.Batch{}
	if e.Batch != id.Nil {
		if batch, err = st.Batch(ctx, e.Batch); err != nil {
			return err
		}
	}
	review := workflow.Forget(id.New(), person, e, batch.Name, shiftEnd, now)
	if err := st.InsertReview(ctx, review); err != nil {
		return err
	}
	person.Version++
	if err := st.SetPersonVersion(ctx, person.ID, person.Version); err != nil {
		return err
	}
	return k.Log.Append(ctx, tx, outbox.Event{Kind: "person", Aggregate: person.ID, Version: person.Version, Piece: e.Piece, OccurredAt: now,
		Payload: &eventsv1.ClockForgotten{ReviewId: review.ID.String(), Span: spans.Of(e), ShiftEnd: wire.ToInstant(shiftEnd)}}, now)
}
