package outbox

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5/pgconn"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// Restored gives a producer's log a new epoch, after its database was set back to an
// earlier state. From then on versions are issued a second time with other content:
// consumers that see the epoch take back what they were told and read the log anew, and
// what still arrives of the lost time is asked about rather than believed.
//
// Nothing is marked to be sent again. What the backup knows as sent is in the stream, or
// the relay finds out that it is not when it starts; see checkTail.
//
// The service must not run, for it would go on in the old epoch. Faults: SERVICE_RUNS,
// NO_EVENT_LOG.
func Restored(ctx context.Context, db *pg.DB, producer string) error {
	return db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		var there bool
		if err := tx.QueryRow(ctx, `SELECT to_regclass('producer') IS NOT NULL`).Scan(&there); err != nil {
			return err
		}
		if !there {
			return fault.New(fault.Precondition, "NO_EVENT_LOG",
				"%s has no log of events in this database; name the one that was restored.", producer)
		}
		if err := claim(ctx, tx, producer); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO producer (epoch) VALUES ($1) ON CONFLICT (only_one) DO UPDATE SET epoch = excluded.epoch`, id.New())
		return err
	})
}

// claim takes the relay's place for the length of the transaction. It waits as long as for
// any lock, for the session of a service that has just ended.
func claim(ctx context.Context, tx *pg.Tx, producer string) error {
	var claimed bool
	err := tx.QueryRow(ctx, `SELECT true FROM pg_advisory_xact_lock($1)`, relayLock(producer)).Scan(&claimed)
	var pe *pgconn.PgError
	if errors.As(err, &pe) && pe.Code == "55P03" { // lock_timeout
		return fault.New(fault.Precondition, "SERVICE_RUNS",
			"%s is running on this database, and would write on as if nothing had happened; stop the services first.", producer)
	}
	return err
}

// relayLock is held for as long as a service with that log publishes.
func relayLock(producer string) int64 { return pg.LockID(producer, "relay") }
