// Package lapse ends holds whose time is over: the piece is free again, and what was given on it is kept or owed, as was agreed.
//
//	at start, then each half minute ─▶ open holds that are over by now
//	     a piece: BEGIN; lock its listing; is its hold over, now that nobody else may change it?
//	              ▸ hold ▸ its deposits: kept, or to be returned ▸ an event for each; COMMIT
//	a command about a piece whose hold is over ─▶ the same first, in its own transaction
//
// So nobody waits for the keeper, and of two copies the second finds nothing over. A hold ends as of when somebody looks: were the shop
// closed in its last hour, the buyer could not have come.
package lapse

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
	"tackfree/pkg/money"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// Actor is who ends them.
const Actor = "end of a hold"

// Keeper ends them by itself.
type Keeper struct {
	DB     *pg.DB
	Log    *outbox.Log
	Shop   wire.Shop
	Logger *slog.Logger
	Every  time.Duration // how often it looks; 0: each half minute
}

// Run looks at once and then until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	ticker := time.NewTicker(cmp.Or(k.Every, 30*time.Second))
	defer ticker.Stop()
	for {
		if err := k.Look(ctx); err != nil && ctx.Err() == nil {
			k.Logger.WarnContext(ctx, "holds that are over", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}

// Look ends what is over by now. A piece whose hold cannot be ended does not hold up the others.
func (k *Keeper) Look(ctx context.Context) error {
	now := k.Shop.Now()
	var over []id.ID
	err := k.DB.View(ctx, func(q pg.Querier) (err error) {
		over, err = store.New(q).HoldsPast(ctx, now)
		return err
	})
	if err != nil {
		return err
	}
	for _, piece := range over {
		failed := k.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
			l, err := store.New(tx).Lock(ctx, piece)
			if err != nil {
				return err
			}
			return Over(ctx, tx, k.Log, k.Shop, &l, now)
		})
		if failed != nil {
			err = errors.Join(err, fmt.Errorf("piece %s: %w", piece, failed))
		}
	}
	return err
}

// Over ends the hold of a locked listing if its time is over, and writes what it changes.
func Over(ctx context.Context, tx *pg.Tx, log *outbox.Log, shop wire.Shop, l *sales.Listing, now time.Time) error {
	if !l.IsHeld() || l.Hold.Until.After(now) {
		return nil
	}
	ctx, st, hold := caller.With(ctx, caller.Caller{Actor: Actor}), store.New(tx), l.Hold
	deposits, err := st.DepositsOf(ctx, hold.ID)
	if err != nil {
		return err
	}
	at := now.UTC().Truncate(time.Millisecond)
	if err := l.EndHold(&hold, sales.HoldLapsed, "", at); err != nil {
		return err
	}
	if err := st.UpdateHold(ctx, hold); err != nil {
		return err
	}
	if err := End(ctx, tx, log, shop, l, hold, l.EndDeposits(deposits, hold.Rule, false), now); err != nil {
		return err
	}
	return st.Update(ctx, *l)
}

// End writes that a hold was ended, with what became of its deposits by that. The listing is at the version of the hold's end, and is
// to be written afterwards.
func End(ctx context.Context, tx *pg.Tx, log *outbox.Log, shop wire.Shop, l *sales.Listing, hold sales.Hold, changed []sales.Deposit, now time.Time) error {
	e := &eventsv1.HoldEnded{HoldId: hold.ID.String(), Buyer: hold.Buyer, Reason: hold.Reason, How: hows[hold.State]}
	if owed := owed(changed); owed > 0 {
		e.ToReturn = shop.ToMoney(owed)
	}
	if err := tell(ctx, tx, log, l, hold.EndedAt, now, e); err != nil {
		return err
	}
	for _, d := range changed {
		if err := store.New(tx).UpdateDeposit(ctx, d); err != nil {
			return err
		}
		if d.State == sales.DepositToReturn {
			continue
		}
		l.Version++
		if err := tell(ctx, tx, log, l, hold.EndedAt, now, settled(shop, d, hold.Reason)); err != nil {
			return err
		}
	}
	return nil
}

func owed(changed []sales.Deposit) (sum money.Amount) {
	for _, d := range changed {
		if d.State == sales.DepositToReturn {
			sum += d.Left()
		}
	}
	return sum
}

// settled says that all that was held of a deposit was kept or given back with its hold.
func settled(shop wire.Shop, d sales.Deposit, reason string) *eventsv1.DepositSettled {
	e := &eventsv1.DepositSettled{DepositId: d.ID.String(), From: d.From, Reason: reason, Left: shop.ToMoney(0),
		How: eventsv1.DepositSettled_HOW_RETURNED, Amount: shop.ToMoney(d.Ended)}
	if d.State == sales.DepositKept {
		e.How = eventsv1.DepositSettled_HOW_KEPT
	}
	return e
}

func tell(ctx context.Context, tx *pg.Tx, log *outbox.Log, l *sales.Listing, at, now time.Time, e proto.Message) error {
	return log.Append(ctx, tx, outbox.Event{Kind: "listing", Aggregate: l.Piece, Version: l.Version, Piece: l.Piece, OccurredAt: at, Payload: e}, now)
}

var hows = map[sales.HoldState]eventsv1.HoldEnded_How{
	sales.HoldReleased: eventsv1.HoldEnded_HOW_RELEASED, sales.HoldLapsed: eventsv1.HoldEnded_HOW_LAPSED,
}
