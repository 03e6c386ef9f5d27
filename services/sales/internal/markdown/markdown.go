// Package markdown runs markdown plans: when the day of a step begins in the shop's zone, its price is asked.
//
//	at start, then each minute ─▶ listed pieces with a step that is due by today
//	     a piece: BEGIN; lock its listing; what is due of its plan, now that nobody else may change it?
//	              ▸ asking price ▸ plan ▸ an event for each step; COMMIT
//
// Today is the shop's calendar day at this moment, so that no offset of a clock change is ever added up. A step is dated as of when
// it is taken: if nothing ran at midnight, buyers were asked the price before until something did, and that is how
// long that price stood. Of two copies the second waits for the lock and then finds nothing due.
package markdown

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// Keeper runs them.
type Keeper struct {
	DB     *pg.DB
	Log    *outbox.Log
	Shop   wire.Shop
	Logger *slog.Logger
	Every  time.Duration // how often it looks; 0: each minute
}

// Actor is who takes the steps.
const Actor = "markdown plan"

// Run looks at once and then until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	ticker := time.NewTicker(cmp.Or(k.Every, time.Minute))
	defer ticker.Stop()
	for {
		if err := k.Look(ctx); err != nil && ctx.Err() == nil {
			k.Logger.WarnContext(ctx, "markdown plans", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}

// Look takes what is due by now. A piece whose step cannot be taken does not hold up the others.
func (k *Keeper) Look(ctx context.Context) error {
	ctx = caller.With(ctx, caller.Caller{Actor: Actor})
	now := k.Shop.Now()
	var due []id.ID
	err := k.DB.View(ctx, func(q pg.Querier) (err error) {
		due, err = store.New(q).PiecesWithMarkdownDue(ctx, Today(k.Shop, now))
		return err
	})
	if err != nil {
		return err
	}
	for _, piece := range due {
		if failed := k.run(ctx, piece, now); failed != nil {
			err = errors.Join(err, fmt.Errorf("piece %s: %w", piece, failed))
		}
	}
	return err
}

// Today is the shop's calendar day at a moment, as steps have theirs.
func Today(shop wire.Shop, now time.Time) time.Time {
	y, m, d := now.In(shop.Zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// run takes what is due of one piece.
func (k *Keeper) run(ctx context.Context, piece id.ID, now time.Time) error {
	at := now.UTC().Truncate(time.Millisecond)
	return k.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		l, err := st.Lock(ctx, piece)
		if err != nil {
			return err
		}
		plan, err := st.Plan(ctx, piece)
		if err != nil {
			return err
		}
		done := l.Due(&plan, Today(k.Shop, now), at)
		if len(done) == 0 {
			return nil
		}
		for _, step := range done {
			if err := k.tell(ctx, tx, &l, step, now); err != nil {
				return err
			}
		}
		if err := st.Update(ctx, l); err != nil {
			return err
		}
		return st.SavePlan(ctx, piece, plan)
	})
}

// tell asks the price of a step that was taken, and writes the event of one that was not or was.
func (k *Keeper) tell(ctx context.Context, tx *pg.Tx, l *sales.Listing, step sales.Step, now time.Time) error {
	e, err := k.event(l, step)
	if err != nil {
		return err
	}
	return k.Log.Append(ctx, tx, outbox.Event{
		Kind: "listing", Aggregate: l.Piece, Version: l.Version, Piece: l.Piece, OccurredAt: step.DoneAt, Payload: e}, now)
}

func (k *Keeper) event(l *sales.Listing, step sales.Step) (proto.Message, error) {
	day := wire.ToDay(step.Day)
	if step.State != sales.StepTaken {
		l.Version++
		return &eventsv1.MarkdownStepSkipped{PlannedFor: day, AskingPrice: k.Shop.ToMoney(step.Asking), Asked: k.Shop.ToMoney(l.AskingPrice), Why: whys[step.State]}, nil
	}
	from, err := l.ChangeAskingPrice(step.Asking)
	return &eventsv1.AskingPriceChanged{From: k.Shop.ToMoney(from), To: k.Shop.ToMoney(l.AskingPrice), PlannedFor: day,
		Reason: "markdown plan, step of " + step.Day.Format(time.DateOnly)}, err
}

var whys = map[sales.StepState]eventsv1.MarkdownStepSkipped_Why{
	sales.StepNotLower: eventsv1.MarkdownStepSkipped_WHY_NOT_LOWER, sales.StepPassedOver: eventsv1.MarkdownStepSkipped_WHY_PASSED_OVER,
}
