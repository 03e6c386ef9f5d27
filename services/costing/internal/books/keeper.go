package books

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// Keeper verifies and rebuilds the books of one shop.
type Keeper struct {
	Config    pg.Config // of the live tables
	Rules     *costing.Rules
	Currency  money.Currency // in which differences are told
	MadeBy    string         // names the rules that the books are made by
	DB        *pg.DB
	Inbox     *inbox.Inbox // of the live tables
	Producers map[string]eventsv1.EventLogServiceClient
	// Handler books events into the shadow's tables, and tells nobody of changes. What it can it leaves
	// to be settled later, unless that is nil.
	Handler func(later *costing.Unsettled) inbox.Handler
}

// Result is what a verification or a rebuild found.
type Result struct {
	Events      int64
	Lines       int64    // of the recomputed ledger
	Differences []string // at most maxTold
	Count       int64
	Unbooked    Unbooked // of a verification
	// The earliest instant of a ledger line that a rebuild replaced, put in or took out: from there on a journal
	// that was taken before is another. Zero: there is none.
	JournalFrom time.Time
}

// Verify recomputes everything beside the live books and compares every row. Work goes on
// meanwhile; only when something seems to differ are bookings held back, to look again. At last
// it counts what neither side could book.
func (k *Keeper) Verify(ctx context.Context) (Result, error) {
	return k.recompute(ctx, func(ctx context.Context, s *shadow, r *Result) error {
		// What the shadow has read, the live books must have too.
		if err := k.Inbox.Compare(ctx); err != nil {
			return err
		}
		same, err := k.same(ctx, s, r)
		if err == nil && !same {
			err = k.held(ctx, s, func(ctx context.Context, live *pgx.Conn) error { return k.differ(ctx, s, live, r) })
		}
		if err != nil {
			return err
		}
		r.Unbooked, err = k.unbooked(ctx, s)
		return err
	})
}

// differ tells how the live books, which are held, differ from what the shadow has come to at the same versions.
func (k *Keeper) differ(ctx context.Context, s *shadow, live *pgx.Conn, r *Result) error {
	apart, err := s.apart(ctx)
	if err != nil {
		return err
	}
	if err := s.follow(ctx, k.Producers, apart, r); err != nil {
		return err
	}
	_, err = s.compare(ctx, live, r)
	return err
}

// Rebuild recomputes everything and puts what differs in place in the live books, in one
// transaction. Readers see the old books or the new ones.
func (k *Keeper) Rebuild(ctx context.Context) (Result, error) {
	return k.recompute(ctx, func(ctx context.Context, s *shadow, r *Result) error {
		if same, err := k.same(ctx, s, r); err != nil {
			return err
		} else if same {
			return s.confirm(ctx, k.MadeBy)
		}
		return k.held(ctx, s, func(ctx context.Context, live *pgx.Conn) error {
			// What came since the replay, up to the producers' heads.
			if err := s.inbox.Compare(ctx); err != nil {
				return err
			}
			f, err := s.compare(ctx, live, r)
			if err != nil {
				return err
			}
			if r.JournalFrom, err = s.differSince(ctx, f); err != nil {
				return err
			}
			return s.swap(ctx, f, r.JournalFrom, k.MadeBy)
		})
	})
}

// freely is how often a shadow is filled anew while records of costing's own may be made.
const freely = 2

// recompute fills a shadow from the producers' logs and hands it to finish; anew, where a record of
// costing's own was made meanwhile, and at last while none can be made.
func (k *Keeper) recompute(ctx context.Context, finish func(context.Context, *shadow, *Result) error) (Result, error) {
	for range freely {
		r, err := k.fill(ctx, finish)
		if !errors.Is(err, errRecorded) {
			return r, err
		}
	}
	conn, err := k.lock(ctx, k.recordsID())
	if err != nil {
		return Result{}, err
	}
	defer closeSession(ctx, conn)
	return k.fill(ctx, finish)
}

func (k *Keeper) fill(ctx context.Context, finish func(context.Context, *shadow, *Result) error) (r Result, err error) {
	s, err := k.newShadow(ctx)
	if err != nil {
		return r, err
	}
	defer s.close()
	if r.Events, err = s.inbox.Replay(ctx); err != nil {
		return r, err
	}
	if err := s.know(ctx); err != nil {
		return r, err
	}
	if err := s.settle(ctx); err != nil {
		return r, err
	}
	err = finish(ctx, s, &r)
	return r, err
}

// recordsID is the lock under which costing's own records are made.
func (k *Keeper) recordsID() int64 { return pg.LockID(k.Config.Schema, "records") }

// Freeze keeps every copy of costing from booking, and a rebuild from missing what is recorded in the
// transaction, until it ends.
func (k *Keeper) Freeze(ctx context.Context, tx *pg.Tx) {
	_, _ = tx.Exec(ctx, `SELECT pg_advisory_xact_lock_shared($1)`, k.recordsID()) // put off
	k.Inbox.Freeze(ctx, tx)
}
