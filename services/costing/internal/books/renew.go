package books

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log/slog"
	"time"

	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/store"
)

// edition rises whenever the program books something otherwise than before.
const edition = 1

// MadeBy names the rules that books are made by: the program's edition and the account rules.
func MadeBy(rules []byte) string {
	sum := sha256.Sum256(rules)
	return fmt.Sprintf("edition %d, account rules %s", edition, hex.EncodeToString(sum[:8]))
}

// again is how long after a failure Renew tries once more.
const again = 5 * time.Second

// Outdated reports whether the books were made by other rules than those of this program, be it an
// older one or one with other account rules. Empty ones are of its own.
func (k *Keeper) Outdated(ctx context.Context) (bool, error) {
	var by string
	var some bool
	err := k.DB.View(ctx, func(q pg.Querier) (err error) {
		by, some, err = store.New(q).MadeBy(ctx)
		return err
	})
	if err != nil || some || by == k.MadeBy {
		return some && by != k.MadeBy, err
	}
	return false, k.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).SetMadeBy(ctx, k.MadeBy) })
}

// Renew makes outdated books anew, until it has. Work goes on meanwhile.
func (k *Keeper) Renew(ctx context.Context, logger *slog.Logger) {
	for {
		r, err := k.Rebuild(ctx)
		switch {
		case ctx.Err() != nil:
			return
		case err == nil:
			logger.InfoContext(ctx, "the books were made anew, by the rules of now", "events", r.Events, "differences", r.Count)
			return
		}
		logger.WarnContext(ctx, "the books were made by other rules and cannot be made anew yet", "error", err)
		select {
		case <-ctx.Done():
		case <-time.After(again):
		}
	}
}
