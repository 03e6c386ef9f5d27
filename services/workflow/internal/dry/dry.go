// Package dry keeps the dry clocks going. In the background it computes anew those that
// have not seen all readings of their zones or all that was learned of their product, and
// tells what falls due: that a part is ready, that a recoat window closes.
//
//	readings, outcomes ── commit ──▶ Wake ──┐
//	each second (another's readings, time) ─┴─▶ pieces with something to compute or to tell
//	       a piece: BEGIN; lock it; read its clocks; forecast; save; append events; COMMIT
//
// What is due is a row and never a timer in memory, and what was told is noted beside it
// under the piece's lock: a restart forgets nothing, and two instances tell nothing twice.
package dry

import (
	"context"
	"log/slog"
	"slices"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// Keeper computes clocks and tells of them.
type Keeper struct {
	DB     *pg.DB
	Log    *outbox.Log
	Shop   wire.Shop
	Logger *slog.Logger
	wake   chan struct{}
}

// New makes a keeper that does not run yet.
func New(db *pg.DB, log *outbox.Log, shop wire.Shop, logger *slog.Logger) *Keeper {
	return &Keeper{DB: db, Log: log, Shop: shop, Logger: logger, wake: make(chan struct{}, 1)}
}

// Wake has the keeper look at once, and not only when its second is over.
func (k *Keeper) Wake() {
	select {
	case k.wake <- struct{}{}:
	default:
	}
}

// every is how often the keeper looks by itself.
const every = time.Second

// actor is who computes and tells.
const actor = "dry clock"

// Run keeps the clocks until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	ctx = caller.With(ctx, caller.Caller{Actor: actor})
	ticker := time.NewTicker(every)
	defer ticker.Stop()
	for {
		if err := k.pass(ctx); err != nil && ctx.Err() == nil {
			k.Logger.WarnContext(ctx, "dry clocks", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		case <-k.wake:
		}
	}
}

// pass computes and tells what there is now. A piece that cannot be computed does not keep
// the others from it.
func (k *Keeper) pass(ctx context.Context) error {
	var pieces []id.ID
	airs := &Airs{Zone: k.Shop.Zone}
	err := k.DB.View(ctx, func(q pg.Querier) (err error) {
		if pieces, err = store.New(q).PiecesToCompute(ctx, k.Shop.Now()); err != nil || len(pieces) == 0 {
			return err
		}
		airs.Since, err = store.New(q).FirstLaid(ctx)
		return err
	})
	if err != nil {
		return err
	}
	for _, piece := range pieces {
		if err := k.piece(ctx, piece, airs); err != nil {
			if ctx.Err() != nil {
				return err
			}
			k.Logger.WarnContext(ctx, "dry clocks of a piece", "piece", piece.String(), "error", err)
		}
	}
	return nil
}

// piece computes the clocks of a piece that have to be, and tells of all of them.
func (k *Keeper) piece(ctx context.Context, piece id.ID, airs *Airs) error {
	now := k.Shop.Now()
	return k.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		plan, err := st.LockPlan(ctx, piece)
		if err != nil {
			return err
		}
		overtaken, err := overtaken(ctx, st, &plan, func(c workflow.DryClock) bool { return c.Over && !c.Past(now) })
		if err != nil {
			return err
		}
		if err := airs.Forecast(ctx, st, plan.Clocks, overtaken, now); err != nil {
			return err
		}
		return Tell(ctx, tx, k.Log, &plan, now)
	})
}

// overtaken are the clocks of a piece, by their stages, over which work has gone on, if that
// matters to any of them.
func overtaken(ctx context.Context, st store.Store, plan *workflow.Plan, matters func(workflow.DryClock) bool) (map[id.ID]bool, error) {
	if !slices.ContainsFunc(plan.Clocks, matters) {
		return nil, nil
	}
	return st.Overtaken(ctx, plan.Piece.ID)
}

// Tell appends the events that a locked piece's clocks are worth by now, by its stages as
// they now are, and saves the piece and those of its clocks that are not as they were.
func Tell(ctx context.Context, tx *pg.Tx, log *outbox.Log, plan *workflow.Plan, now time.Time) error {
	st := store.New(tx)
	plan.Renew()
	overtaken, err := overtaken(ctx, st, plan, func(c workflow.DryClock) bool { return c.WarnsBy(now) })
	if err != nil {
		return err
	}
	news := plan.Tell(now, overtaken)
	for _, c := range plan.Unsaved() {
		if err := st.SaveDryClock(ctx, c, now); err != nil {
			return err
		}
	}
	for _, n := range news {
		if err := Append(ctx, tx, log, plan, n, now); err != nil {
			return err
		}
	}
	if len(news) == 0 {
		return nil
	}
	return st.UpdatePiece(ctx, plan.Piece)
}
