// Package pg is how a service uses Postgres. Plumbing over pgx.
//
//	Open ─▶ DB ─┬─ InTx(fn)      one command: load, decide, save, append its event
//	            ├─ View(fn)      reads, each of its own moment, without a transaction
//	            └─ Snapshot(fn)  reads that must agree, all of one moment
//	Migrate      brings a service's schema up to date under a lock of its own
//	Provision    makes a role and a schema for each service; a role reads no other's
//
// A Tx puts off its writes and sends them together with the next read or the commit,
// so a command that loads once and then writes costs two round trips in all. That is
// what makes a row lock short and the command path fast.
package pg

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"
	"github.com/jackc/pgx/v5/pgxpool"

	"tackfree/pkg/fault"
)

// Querier is what generated queries run on: a Tx, a View or a Snapshot.
type Querier interface {
	Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error)
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

// Config says which database and how to use it. The zero values are good.
type Config struct {
	URL              string
	Schema           string        // the service's own; it becomes the search path
	MaxConns         int32         // 0: 6; on two cores four to eight are best
	StatementTimeout time.Duration // 0: 5 s
	LockTimeout      time.Duration // 0: 2 s
}

// Constraints maps the name of a database constraint to the fault it stands for.
type Constraints map[string]*fault.Fault

// DB is a pool of connections to one service's schema.
type DB struct {
	pool   *pgxpool.Pool
	faults Constraints
}

// Open makes the pool. It does not wait for the database to be there.
func Open(ctx context.Context, c Config, faults Constraints) (*DB, error) {
	pc, err := c.pool()
	if err != nil {
		return nil, err
	}
	pc.MaxConns = orElse(c.MaxConns, 6)
	pc.MinConns = 1
	pc.MaxConnLifetime = 30 * time.Minute
	pc.MaxConnLifetimeJitter = 5 * time.Minute
	return open(ctx, pc, faults)
}

func (c Config) pool() (*pgxpool.Config, error) {
	pc, err := pgxpool.ParseConfig(c.URL)
	if err != nil {
		return nil, fmt.Errorf("database URL: %w", err)
	}
	pc.PingTimeout = time.Second
	pc.AfterConnect = ownTypes
	for name, value := range c.settings() {
		pc.ConnConfig.RuntimeParams[name] = value
	}
	return pc, nil
}

func open(ctx context.Context, pc *pgxpool.Config, faults Constraints) (*DB, error) {
	pool, err := pgxpool.NewWithConfig(ctx, pc)
	if err != nil {
		return nil, fmt.Errorf("database pool: %w", err)
	}
	return &DB{pool: pool, faults: faults}, nil
}

// ownTypes makes instants come back in UTC, whatever the machine's zone, ids travel as the sixteen
// bytes they are, not through text, and lists without a question about each element.
func ownTypes(_ context.Context, conn *pgx.Conn) error {
	conn.TypeMap().RegisterType(&pgtype.Type{
		Name: "timestamptz", OID: pgtype.TimestamptzOID, Codec: &pgtype.TimestamptzCodec{ScanLocation: time.UTC}})
	registerUUIDs(conn.TypeMap())
	registerLists(conn.TypeMap())
	return nil
}

// OpenSession is Open with one connection that is kept for as long as the DB is, for
// temporary tables.
func OpenSession(ctx context.Context, c Config) (*DB, error) {
	pc, err := c.pool()
	if err != nil {
		return nil, err
	}
	pc.MaxConns, pc.MinConns, pc.MaxConnLifetime, pc.MaxConnIdleTime = 1, 1, forever, forever
	return open(ctx, pc, nil)
}

const forever = 1000 * time.Hour

func (c Config) settings() map[string]string {
	s := map[string]string{
		"application_name":                    "tackfree " + c.Schema,
		"timezone":                            "UTC",
		"statement_timeout":                   millis(orElse(c.StatementTimeout, 5*time.Second)),
		"lock_timeout":                        millis(orElse(c.LockTimeout, 2*time.Second)),
		"idle_in_transaction_session_timeout": "10000",
		// Nearly all that is read is in memory. By the usual price of a page, four times as much, a table
		// that was small when its statement was planned is read whole for ever after.
		"random_page_cost": "1.1",
		// Compiling takes longer than what a service asks.
		"jit": "off",
	}
	if c.Schema != "" {
		s["search_path"] = c.Schema
	}
	return s
}

func millis(d time.Duration) string { return fmt.Sprint(d.Milliseconds()) }

func orElse[T comparable](value, other T) T {
	var zero T
	if value == zero {
		return other
	}
	return value
}

// Close waits for the connections in use and closes the pool.
func (db *DB) Close() { db.pool.Close() }

// Ping asks the database for a sign of life.
func (db *DB) Ping(ctx context.Context) error { return db.translate(db.pool.Ping(ctx)) }

// View runs reads outside a transaction and turns their errors into faults. Each sees what
// is committed when it is asked; what several must agree on is read in a Snapshot.
func (db *DB) View(ctx context.Context, fn func(q Querier) error) error {
	return db.translate(fn(db.pool))
}

// Session takes one connection out of the pool for good, for a lock that lives as long
// as the session. The caller closes it.
func (db *DB) Session(ctx context.Context) (*pgx.Conn, error) {
	c, err := db.pool.Acquire(ctx)
	if err != nil {
		return nil, db.translate(err)
	}
	return c.Hijack(), nil
}
