// Package pgtest gives each test a Postgres database of its own, with the schema of a
// service already in it. Test rig.
//
// One server serves a test program: the one at TEST_DATABASE_URL; else a container,
// where a Docker engine answers and has the image; else a private server from the
// machine's own binaries, without fsync, and in memory where there is room. Where there is
// none of these, tests fail: a skipped database test would hide what it was written for.
//
// Migrations run once for each set, into a template that the tests' databases are
// copied from (about 30 ms); or a service fills its template itself.
package pgtest

import (
	"context"
	"flag"
	"fmt"
	"net/url"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// atOnce is how many tests of a program run at a time at most: each has a pool or two, and a
// server has a hundred connections.
const atOnce = 8

// Main runs a package's tests and stops the server afterwards. A package that uses
// pgtest has: func TestMain(m *testing.M) { pgtest.Main(m) }.
func Main(m *testing.M) {
	if err := flag.Set("test.parallel", strconv.Itoa(min(atOnce, runtime.GOMAXPROCS(0)))); err != nil {
		panic(err) // every test program has the flag
	}
	code := m.Run()
	stopServer()
	os.Exit(code)
}

// server is the administrator's connection and what has been prepared so far.
type server struct {
	url       string
	stop      func()
	mu        sync.Mutex // CREATE DATABASE from one template, one at a time
	admin     *pgx.Conn  // nil: not yet
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
	var names []string
	for _, set := range sets {
		names = append(names, set.Name)
	}
	url := running(t).copyOf(t, schema+":"+strings.Join(names, ","), schema, func(url string) error {
		return pg.Migrate(t.Context(), pg.Config{URL: url, Schema: schema}, sets...)
	})
	return pg.Config{URL: url, Schema: schema}
}

// Prepared returns the URL of a fresh database of a service. It is a copy of one that
// prepare, which gets the administrator's URL of it, has once filled by itself and then let
// go of. The database goes when the test ends.
func Prepared(t testing.TB, service string, prepare func(url string) error) string {
	t.Helper()
	return running(t).copyOf(t, "prepared "+service, service, prepare)
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

// copyOf copies the template of a key.
func (s *server) copyOf(t testing.TB, key, schema string, prepare func(url string) error) string {
	t.Helper()
	template, err := s.template(t.Context(), key, schema, prepare)
	if err != nil {
		t.Fatalf("prepare schema %s: %v", schema, err)
	}
	return s.clone(t, template)
}

// template makes, once, a database that has the schema, and prepares it.
func (s *server) template(ctx context.Context, key, schema string, prepare func(url string) error) (string, error) {
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
		err = prepare(at)
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
		s.mu.Lock()
		defer s.mu.Unlock()
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

// exec runs a statement as the administrator; mu is held. A context that ends closes the
// connection, and the next statement gets another.
func (s *server) exec(ctx context.Context, sql string) (err error) {
	if s.admin == nil || s.admin.IsClosed() {
		if s.admin, err = pgx.Connect(ctx, s.url); err != nil {
			return err
		}
	}
	_, err = s.admin.Exec(ctx, sql)
	return err
}

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
