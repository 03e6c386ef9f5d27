package pg

import (
	"context"
	"database/sql"
	"fmt"
	"hash/fnv"
	"io/fs"

	"github.com/jackc/pgx/v5"
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

// LockID gives the id of an advisory lock: one for each schema and purpose.
func LockID(schema, set string) int64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "tackfree/%s/%s", schema, set)
	return int64(h.Sum64() >> 1)
}
