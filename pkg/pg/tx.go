package pg

import (
	"context"
	"errors"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

const maxTries = 4

// Tx is one transaction. Exec puts a statement off until the next Query, QueryRow or
// the commit, which sends everything in one round trip; its error shows up there. A
// statement whose effect decides something must therefore be a query (RETURNING).
type Tx struct {
	conn  *pgx.Conn
	begin string
	batch *pgx.Batch
	begun bool
	after []func()
}

var _ Querier = (*Tx)(nil)

// InTx runs fn in a transaction and commits it when fn returns nil. It runs fn again,
// from the start, after a serialisation failure or a deadlock; so fn must do nothing
// that a rollback does not undo: no call to another service, no publishing, no waiting.
func (db *DB) InTx(ctx context.Context, fn func(ctx context.Context, tx *Tx) error) error {
	for try := 1; ; try++ {
		err := db.tryTx(ctx, fn)
		if err == nil || try == maxTries || !retryable(err) {
			return db.translate(err)
		}
		if !pause(ctx, time.Duration(try)*10*time.Millisecond) {
			return ctx.Err()
		}
	}
}

func (db *DB) tryTx(ctx context.Context, fn func(ctx context.Context, tx *Tx) error) error {
	conn, err := db.pool.Acquire(ctx)
	if err != nil {
		return err
	}
	defer conn.Release()
	tx := NewTx(conn.Conn())
	if err := fn(ctx, tx); err != nil {
		tx.Rollback(ctx)
		return err
	}
	if err := tx.Commit(ctx); err != nil {
		tx.Rollback(ctx)
		return err
	}
	return nil
}

// NewTx starts a transaction on a connection that the caller owns. InTx is the usual way.
func NewTx(conn *pgx.Conn) *Tx { return &Tx{conn: conn, begin: "begin", batch: &pgx.Batch{}} }

// After runs fn once the transaction has been committed.
func (tx *Tx) After(fn func()) { tx.after = append(tx.after, fn) }

// Exec puts the statement off; see Tx.
func (tx *Tx) Exec(_ context.Context, sql string, args ...any) (pgconn.CommandTag, error) {
	tx.queue(sql, args...)
	return pgconn.CommandTag{}, nil
}

func (tx *Tx) queue(sql string, args ...any) {
	if !tx.begun {
		tx.batch.Queue(tx.begin)
		tx.begun = true
	}
	tx.batch.Queue(sql, args...)
}

// Query sends what was put off and then asks.
func (tx *Tx) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	results, err := tx.send(ctx, sql, args...)
	if err != nil {
		return nil, err
	}
	rows, err := results.Query()
	if err != nil {
		return nil, errors.Join(err, results.Close())
	}
	return &txRows{Rows: rows, results: results}, nil
}

// QueryRow sends what was put off and then asks for one row.
func (tx *Tx) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	results, err := tx.send(ctx, sql, args...)
	if err != nil {
		return failedRow{err}
	}
	return txRow{row: results.QueryRow(), results: results}
}

// send flushes the batch with one more statement and reads up to that statement's result.
func (tx *Tx) send(ctx context.Context, sql string, args ...any) (pgx.BatchResults, error) {
	tx.queue(sql, args...)
	batch := tx.batch
	tx.batch = &pgx.Batch{}
	results := tx.conn.SendBatch(ctx, batch)
	for range batch.Len() - 1 {
		if _, err := results.Exec(); err != nil {
			_ = results.Close() // says the same again
			return nil, err
		}
	}
	return results, nil
}

// Commit sends what was put off and commits, in one round trip.
func (tx *Tx) Commit(ctx context.Context) error {
	if tx.begun {
		if err := tx.commit(ctx); err != nil {
			return err
		}
	}
	for _, fn := range tx.after {
		fn()
	}
	return nil
}

func (tx *Tx) commit(ctx context.Context) error {
	results, err := tx.send(ctx, "commit")
	if err == nil {
		_, err = results.Exec()
		err = errors.Join(err, results.Close())
	}
	if err == nil {
		tx.begun = false
		return nil
	}
	if tx.conn.IsClosed() {
		return lostCommit{err}
	}
	return err
}

// Rollback undoes what was sent. It works under a cancelled context too, so that no
// transaction stays open behind a caller that went away.
func (tx *Tx) Rollback(ctx context.Context) {
	if !tx.begun || tx.conn.IsClosed() || tx.conn.PgConn().TxStatus() == 'I' {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if _, err := tx.conn.Exec(ctx, "rollback"); err != nil {
		_ = tx.conn.Close(ctx) // the pool throws a closed connection away
	}
	tx.begun = false
}

// pause waits a random time up to twice d; false when ctx ends first.
func pause(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(time.Duration(rand.Int64N(int64(2 * d))))
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}

type txRows struct {
	pgx.Rows
	results pgx.BatchResults
}

// Close ends the round trip, so the connection can be used again.
func (r *txRows) Close() {
	r.Rows.Close()
	_ = r.results.Close() // its error is the rows' error
}

// Next closes after the last row, as pgx rows do.
func (r *txRows) Next() bool {
	if r.Rows.Next() {
		return true
	}
	r.Close()
	return false
}

type txRow struct {
	row     pgx.Row
	results pgx.BatchResults
}

func (r txRow) Scan(dest ...any) error {
	err := r.row.Scan(dest...)
	if closeErr := r.results.Close(); err == nil {
		err = closeErr
	}
	return err
}

type failedRow struct{ err error }

func (r failedRow) Scan(...any) error { return r.err }
