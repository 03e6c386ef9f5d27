package books

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Keeper verifies and rebuilds the books of one shop.
type Keeper struct {
	Config    pg.Config // of the live tables
	DB        *pg.DB
	Inbox     *inbox.Inbox // of the live tables
	Producers map[string]eventsv1.EventLogServiceClient
	// Handler books events; the keeper uses it on the shadow tables too, where it tells
	// nobody of changes.
	Handler func(live bool) inbox.Handler
}

func (k *Keeper) shadowHandler() inbox.Handler { return k.Handler(false) }

// Result is what a verification or a rebuild found.
type Result struct {
	Events      int64
	Lines       int64    // of the recomputed ledger
	Differences []string // at most maxTold
	Count       int64
}

// Verify recomputes everything beside the live books and compares every row. Work goes on
// meanwhile; only for the last moments are bookings held back.
func (k *Keeper) Verify(ctx context.Context) (Result, error) {
	return k.recompute(ctx, func(ctx context.Context, s *shadow, r *Result) error {
		// What the shadow has read, the live books must have too before they are held still.
		if err := k.Inbox.Compare(ctx); err != nil {
			return err
		}
		release, err := k.hold(ctx)
		if err != nil {
			return err
		}
		defer release()
		n, err := s.follow(ctx, k.Producers)
		r.Events += n
		if err != nil {
			return err
		}
		return s.compare(ctx, r)
	})
}

// Rebuild recomputes everything and puts it in place of the live books in one
// transaction. Readers see the old books or the new ones.
func (k *Keeper) Rebuild(ctx context.Context) (Result, error) {
	return k.recompute(ctx, func(ctx context.Context, s *shadow, r *Result) error {
		release, err := k.hold(ctx)
		if err != nil {
			return err
		}
		defer release()
		// What came since the replay, up to the producers' heads.
		if err := s.inbox.Compare(ctx); err != nil {
			return err
		}
		if err := s.compare(ctx, r); err != nil {
			return err
		}
		return s.swap(ctx)
	})
}

// recompute fills a shadow from the producers' logs and hands it to finish.
func (k *Keeper) recompute(ctx context.Context, finish func(context.Context, *shadow, *Result) error) (r Result, err error) {
	s, err := k.newShadow(ctx)
	if err != nil {
		return r, err
	}
	defer s.close()
	for name, producer := range k.Producers {
		n, err := s.replay(ctx, producer)
		r.Events += n
		if err != nil {
			return r, fmt.Errorf("replay %s: %w", name, err)
		}
	}
	err = finish(ctx, s, &r)
	return r, err
}

// hold keeps every copy of costing from booking until release is called.
func (k *Keeper) hold(ctx context.Context) (release func(), err error) {
	conn, err := k.DB.Session(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := conn.Exec(ctx, `SELECT pg_advisory_lock($1)`, k.Inbox.LockID()); err != nil {
		closeSession(ctx, conn)
		return nil, fmt.Errorf("hold the books: %w", err)
	}
	return func() { closeSession(ctx, conn) }, nil
}

// closeSession ends a session, and its locks with it, also for a caller that went away.
func closeSession(ctx context.Context, conn *pgx.Conn) { _ = conn.Close(context.WithoutCancel(ctx)) }
