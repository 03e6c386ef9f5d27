// Package pgtest gives each test a Postgres database of its own, with the schema of a
// service already in it. Test rig.
//
// One server serves a test program: the one at TEST_DATABASE_URL; else a container,
// where a Docker engine answers and has the image; else a private server from the
// machine's own binaries, without fsync. Where there is none of these, tests fail: a
// skipped database test would hide what it was written for.
//
// Migrations run once for each set, into a template that the tests' databases are
// copied from (about 30 ms).
package pgtest

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// Main runs a package's tests and stops the server afterwards. A package that uses
// pgtest has: func TestMain(m *testing.M) { pgtest.Main(m) }.
func Main(m *testing.M) {
	code := m.Run()
	stopServer()
	os.Exit(code)
}

// server is the administrator's connection and what has been prepared so far.
type server struct {
	url       string
	stop      func()
	mu        sync.Mutex // CREATE DATABASE from one template, one at a time
	templates map[string]string
}

var (
	start  sync.Once
	shared *server
	failed error
)

func running(t testing.TB) *server {
	t.Helper()
	start.Do(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
		defer cancel()
		shared, failed = find(ctx)
	})
	if failed != nil {
		t.Fatalf("no Postgres for the tests: %v", failed)
	}
	return shared
}

func stopServer() {
	if shared != nil {
		shared.stop()
	}
}

// Config returns the settings of a fresh database in which the schema has the given
// migrations. The database goes when the test ends.
func Config(t testing.TB, schema string, sets ...pg.Migrations) pg.Config {
	t.Helper()
	s := running(t)
	template, err := s.template(t.Context(), schema, sets)
	if err != nil {
		t.Fatalf("prepare schema %s: %v", schema, err)
	}
	return pg.Config{URL: s.clone(t, template), Schema: schema}
}

// Open is Config with a pool on it.
func Open(t testing.TB, schema string, faults pg.Constraints, sets ...pg.Migrations) *pg.DB {
	t.Helper()
	db, err := pg.Open(t.Context(), Config(t, schema, sets...), faults)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	return db
}

// Empty returns the administrator's URL of a fresh, empty database.
func Empty(t testing.TB) string {
	t.Helper()
	return running(t).clone(t, "template0")
}

// template makes, once, a database that has the schema and its migrations.
func (s *server) template(ctx context.Context, schema string, sets []pg.Migrations) (string, error) {
	var names []string
	for _, set := range sets {
		names = append(names, set.Name)
	}
	key := schema + ":" + strings.Join(names, ",")
	s.mu.Lock()
	defer s.mu.Unlock()
	if name, ok := s.templates[key]; ok {
		return name, nil
	}
	name := newName()
	if err := s.exec(ctx, "CREATE DATABASE "+name+" TEMPLATE template0"); err != nil {
		return "", err
	}
	at := s.at(name)
	err := execAt(ctx, at, "CREATE EXTENSION btree_gist", "CREATE SCHEMA "+pgx.Identifier{schema}.Sanitize())
	if err == nil {
		err = pg.Migrate(ctx, pg.Config{URL: at, Schema: schema}, sets...)
	}
	if err != nil {
		return "", err
	}
	s.templates[key] = name
	return name, nil
}

func (s *server) clone(t testing.TB, template string) string {
	t.Helper()
	name := newName()
	s.mu.Lock()
	err := s.exec(t.Context(), "CREATE DATABASE "+name+" TEMPLATE "+template)
	s.mu.Unlock()
	if err != nil {
		t.Fatalf("copy database: %v", err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := s.exec(ctx, "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Errorf("drop database: %v", err)
		}
	})
	return s.at(name)
}

// at gives the administrator's URL of another database of the server.
func (s *server) at(database string) string {
	u, err := url.Parse(s.url)
	if err != nil {
		panic(err) // it has been connected to
	}
	u.Path = "/" + database
	return u.String()
}

func (s *server) exec(ctx context.Context, sql string) error { return execAt(ctx, s.url, sql) }

func execAt(ctx context.Context, url string, statements ...string) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	for _, sql := range statements {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return fmt.Errorf("%s: %w", sql, err)
		}
	}
	return nil
}

func newName() string { return "t_" + strings.ReplaceAll(id.New().String(), "-", "") }
