package books

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// held runs fn while no copy of costing books, and gives it a session that reads the live books.
func (k *Keeper) held(ctx context.Context, s *shadow, fn func(ctx context.Context, live *pgx.Conn) error) error {
	live, err := k.hold(ctx)
	if err != nil {
		return err
	}
	defer closeSession(ctx, live)
	if err := s.sameRecords(ctx); err != nil {
		return err
	}
	return fn(ctx, live)
}

// same reports whether the live books of a moment are the shadow's, row by row. Bookings are held
// back for that moment only: what they were then is read from a snapshot, while the shadow follows
// to the same versions. When the books were behind then, or say something else, they are not.
func (k *Keeper) same(ctx context.Context, s *shadow, r *Result) (bool, error) {
	live, err := k.hold(ctx)
	if err != nil {
		return false, err
	}
	defer closeSession(ctx, live)
	apart, err := s.moment(ctx, live)
	if err != nil {
		return false, err
	}
	if _, err := live.Exec(ctx, `SELECT pg_advisory_unlock($1)`, k.Inbox.LockID()); err != nil {
		return false, err
	}
	for _, p := range apart {
		if p.shadow > p.live {
			return false, nil
		}
	}
	if err := s.follow(ctx, k.Producers, apart, r); err != nil {
		return false, err
	}
	theirs, ours, err := s.prints(ctx, live)
	if err != nil {
		return false, err
	}
	f := s.findings(theirs, ours)
	if !f.none() {
		return false, nil
	}
	wrong := Result{}
	if err := s.prove(ctx, live, f, &wrong); err != nil {
		return false, err
	}
	return wrong.Count == 0, s.count(ctx, r)
}

// moment begins the snapshot, while the books are held, and says in which aggregates they are apart
// from the shadow.
func (s *shadow) moment(ctx context.Context, live *pgx.Conn) ([]position, error) {
	if _, err := live.Exec(ctx, `BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY`); err != nil {
		return nil, err
	}
	if _, err := live.Exec(ctx, `SELECT FROM applied LIMIT 1`); err != nil { // now it is what it is
		return nil, err
	}
	if err := s.sameRecords(ctx); err != nil {
		return nil, err
	}
	return s.apart(ctx)
}

// hold keeps every copy of costing from booking until the session is closed or gives the lock back.
// The session can read all of the books.
func (k *Keeper) hold(ctx context.Context) (*pgx.Conn, error) {
	conn, err := k.lock(ctx, k.Inbox.LockID())
	if err != nil {
		return nil, err
	}
	_, err = conn.Exec(ctx, `SELECT set_config('statement_timeout', $1, false), set_config('idle_in_transaction_session_timeout', $1, false), set_config('work_mem', $2, false)`,
		fmt.Sprint(patience.Milliseconds()), workMem)
	if err != nil {
		closeSession(ctx, conn)
	}
	return conn, err
}

// lockPatience is how long a rebuild or a verification waits for a lock: as long as it may take to price
// years of labour anew.
const lockPatience = 30 * time.Second

// lock takes a lock for as long as the session lives.
func (k *Keeper) lock(ctx context.Context, lock int64) (*pgx.Conn, error) {
	conn, err := k.DB.Session(ctx)
	if err != nil {
		return nil, err
	}
	_, err = conn.Exec(ctx, `SELECT set_config('lock_timeout', $1, false)`, fmt.Sprint(lockPatience.Milliseconds()))
	if err == nil {
		_, err = conn.Exec(ctx, `SELECT pg_advisory_lock($1)`, lock)
	}
	if err != nil {
		closeSession(ctx, conn)
		return nil, fmt.Errorf("hold the books: %w", err)
	}
	return conn, nil
}

// closeSession ends a session, and its locks with it, also for a caller that went away.
func closeSession(ctx context.Context, conn *pgx.Conn) { _ = conn.Close(context.WithoutCancel(ctx)) }
