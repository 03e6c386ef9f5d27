package pg

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Snapshot runs reads that all see the database as it is at the first of them, and turns
// their errors into faults. It costs one round trip more than a View, to end; it takes no
// lock, so it waits for nobody and nobody for it.
func (db *DB) Snapshot(ctx context.Context, fn func(q Querier) error) error {
	conn, err := db.pool.Acquire(ctx)
	if err != nil {
		return db.translate(err)
	}
	defer conn.Release()
	tx := newSnapshot(conn.Conn())
	defer tx.Rollback(ctx) // there is nothing to commit, and what was read stands
	return db.translate(fn(tx))
}

// snapshot is a transaction that writes nothing: a write would be put off and then lost.
type snapshot struct{ *Tx }

func newSnapshot(conn *pgx.Conn) snapshot {
	tx := NewTx(conn)
	tx.begin = "begin isolation level repeatable read, read only"
	return snapshot{tx}
}

var errSnapshotWrites = errors.New("a snapshot only reads; write in InTx")

// Exec refuses the statement.
func (snapshot) Exec(context.Context, string, ...any) (pgconn.CommandTag, error) {
	return pgconn.CommandTag{}, errSnapshotWrites
}

// Copy refuses the rows.
func (snapshot) Copy(context.Context, string, []string, *Rows) error { return errSnapshotWrites }
