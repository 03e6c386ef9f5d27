package books

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// edition rises whenever the program books something otherwise than before. Weeks that were locked and
// months that were closed by an older one keep what they counted; the difference shows as late.
//
//	2  a night over a week's end is paid in each week by its own hours; the same rate said again changes no
//	   cent; contradicting minutes count once; a price that is put right is reversed and booked anew
//	3  of a sale, what was given before it, what is owed of it and what cash was rounded by: a program from before
//	   read all of it as cash, and where the shop's rules are its own these say nothing of it
const edition = 3

// MadeBy names the rules that books are made by: the program's edition and the account rules.
func MadeBy(rules []byte) string {
	sum := sha256.Sum256(rules)
	return fmt.Sprintf("edition %d, account rules %s", edition, hex.EncodeToString(sum[:8]))
}

// again is how long after a failure Renew tries once more.
const again = 5 * time.Second

// Outdated reports whether the books were made by other rules than those of this program, be it an
// older one or one with other account rules. Empty ones are of its own.
func (k *Keeper) Outdated(ctx context.Context) (outdated bool, err error) {
	var by string
	err = k.DB.View(ctx, func(q pg.Querier) (err error) {
		by, outdated, err = k.madeBy(ctx, store.New(q))
		return err
	})
	if err != nil || outdated || by == k.MadeBy {
		return outdated, err
	}
	return false, k.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).SetMadeBy(ctx, k.MadeBy) })
}

// OutdatedIn says the same of what a transaction or a view sees.
func (k *Keeper) OutdatedIn(ctx context.Context, st store.Store) (bool, error) {
	_, outdated, err := k.madeBy(ctx, st)
	return outdated, err
}

func (k *Keeper) madeBy(ctx context.Context, st store.Store) (by string, outdated bool, err error) {
	by, some, err := st.MadeBy(ctx)
	return by, some && by != k.MadeBy, err
}

// Fits refuses account rules whose chart lacks an account that closed months have counted, for these
// stay as they were closed.
func (k *Keeper) Fits(ctx context.Context) error {
	return k.DB.View(ctx, func(q pg.Querier) error {
		counted, err := store.New(q).Counted(ctx)
		if err != nil {
			return err
		}
		var all []error
		for _, name := range counted {
			if !k.Rules.Has(costing.Account(name)) {
				all = append(all, fmt.Errorf("the account rules lack account %q, on which closed months have counted; keep its name, its title and number may change", name))
			}
		}
		return errors.Join(all...)
	})
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
			if !r.JournalFrom.IsZero() {
				logger.WarnContext(ctx, "entries of the journal are others now; whoever took it before takes it anew from then on", "since", r.JournalFrom)
			}
			return
		}
		logger.WarnContext(ctx, "the books were made by other rules and cannot be made anew yet", "error", err)
		select {
		case <-ctx.Done():
		case <-time.After(again):
		}
	}
}
