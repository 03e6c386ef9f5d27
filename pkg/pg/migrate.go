package pg

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/database"
	"github.com/pressly/goose/v3/lock"
)

// Migrations is a named set of forward-only SQL files. A service has its own set and
// those of the plumbing it uses; each set counts its versions in a table of its own.
type Migrations struct {
	Name  string // the version table is {Name}_version
	Files fs.FS  // 00001_what.sql …, at the root
}

// Migrate brings the sets up to date in order, each under a session lock whose id
// belongs to the schema and the set, so that copies starting at once wait for each
// other and services never do.
func Migrate(ctx context.Context, c Config, sets ...Migrations) error {
	cc, err := pgx.ParseConfig(c.URL)
	if err != nil {
		return fmt.Errorf("database URL: %w", err)
	}
	cc.RuntimeParams["search_path"] = c.Schema
	db := stdlib.OpenDB(*cc)
	defer func() { _ = db.Close() }()
	for _, set := range sets {
		if err := migrate(ctx, db, c.Schema, set); err != nil {
			return fmt.Errorf("migrate %s of %s: %w", set.Name, c.Schema, err)
		}
	}
	return nil
}

func migrate(ctx context.Context, db *sql.DB, schema string, set Migrations) error {
	// Try every second for a minute; the default asks every five.
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockID(LockID(schema, set.Name)), lock.WithLockTimeout(1, 60))
	if err != nil {
		return err
	}
	store, err := database.NewStore(database.DialectPostgres, set.Name+"_version")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider("", db, set.Files, goose.WithStore(store), goose.WithSessionLocker(locker))
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	return err
}

// Current tells whether the schema has all of the sets: a question of one round trip, where
// Migrate asks eighteen over a connection of its own.
func (db *DB) Current(ctx context.Context, sets ...Migrations) (bool, error) {
	var newest []int64
	var asked []string
	for _, set := range sets {
		n, err := set.newest()
		if err != nil {
			return false, err
		}
		newest = append(newest, n)
		asked = append(asked, "(SELECT max(version_id) FROM "+pgx.Identifier{set.Name + "_version"}.Sanitize()+")")
	}
	var has []int64
	err := db.pool.QueryRow(ctx, "SELECT ARRAY["+strings.Join(asked, ", ")+"]").Scan(&has)
	if refused := (*pgconn.PgError)(nil); errors.As(err, &refused) && refused.Code == undefinedTable {
		return false, nil
	}
	return err == nil && slices.EqualFunc(has, newest, func(h, n int64) bool { return h >= n }), err
}

const undefinedTable = "42P01"

// newest is the version that a set's last file brings.
func (m Migrations) newest() (newest int64, err error) {
	files, err := fs.Glob(m.Files, "*.sql")
	if err != nil {
		return 0, err
	}
	for _, file := range files {
		version, err := goose.NumericComponent(file)
		if err != nil {
			return 0, err
		}
		newest = max(newest, version)
	}
	return newest, nil
}

// LockID gives the id of an advisory lock: one for each schema and purpose.
func LockID(schema, set string) int64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "tackfree/%s/%s", schema, set)
	return int64(h.Sum64() >> 1)
}
