package suite

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
)

// busy keeps the tables of a service from being brought up to date, as long ones would, until it is let go.
func busy(t *testing.T, url, service string) (letGo func()) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), `SELECT pg_advisory_lock($1)`, pg.LockID(service, "boot")); err != nil {
		t.Fatal(err)
	}
	letGo = sync.OnceFunc(func() { _ = conn.Close(context.WithoutCancel(t.Context())) })
	t.Cleanup(letGo)
	return letGo
}

// A service may take longer with its tables than it may take to answer, and whoever waits is told why.
func TestStart_WaitsForTables(t *testing.T) {
	o := Options{Dir: t.TempDir(), Only: []string{"costing"}, DatabaseURL: pgtest.Empty(t), Logger: slog.New(slog.DiscardHandler),
		patience: patience{quiet: 4 * time.Second, answer: 3 * time.Second}}
	letGo, said := busy(t, o.DatabaseURL, "costing"), ""
	o.Progress = func(line string) {
		said += line
		if strings.Contains(line, "up to date") {
			letGo()
		}
	}
	s, err := Start(t.Context(), o)
	if err != nil {
		t.Fatalf("Start = %v, although its tables only took long", err)
	}
	defer s.Stop()
	if want := "costing brings its tables up to date"; !strings.Contains(said, want) {
		t.Errorf("it says %q, want %q", said, want)
	}
}

// Whoever asks for an end while tables take long is not kept waiting.
func TestStart_StopsWhileTablesTakeLong(t *testing.T) {
	o := Options{Dir: t.TempDir(), Only: []string{"costing"}, DatabaseURL: pgtest.Empty(t), Logger: slog.New(slog.DiscardHandler),
		patience: patience{quiet: time.Millisecond, answer: time.Minute}}
	busy(t, o.DatabaseURL, "costing")
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	o.Progress = func(line string) {
		if strings.Contains(line, "up to date") {
			stop()
		}
	}
	if _, err := Start(ctx, o); !errors.Is(err, context.Canceled) {
		t.Errorf("Start = %v, want it stopped", err)
	}
}

// The shop's folder has the account rules as soon as costing books by them: a shop that dies while others
// still start goes on with the rules of its books.
func TestStart_KeepsAccountRulesBeforeOthersAreReady(t *testing.T) {
	o := Options{Dir: t.TempDir(), Only: []string{"intake", "costing"}, DatabaseURL: pgtest.Empty(t), Logger: slog.New(slog.DiscardHandler),
		AccountRules: renamed(t, "Till")}
	busy(t, o.DatabaseURL, "intake")
	ctx, stop := context.WithTimeout(t.Context(), 20*time.Second)
	defer stop()
	o.Progress = func(line string) {
		if strings.Contains(line, "are the shop's own from now on") {
			stop()
		}
	}
	if _, err := Start(ctx, o); !errors.Is(err, context.Canceled) {
		t.Errorf("Start = %v, want it to have died before intake was ready", err)
	}
	if text, err := os.ReadFile(filepath.Join(o.Dir, rulesFile)); err != nil || !strings.Contains(string(text), "title: Till") {
		t.Errorf("the rules of its books are %q, %v", text, err)
	}
}

// Rules that costing would take are not kept before it has.
func TestStart_KeepsNoAccountRulesBeforeCostingHasThem(t *testing.T) {
	o := Options{Dir: t.TempDir(), Only: []string{"costing"}, DatabaseURL: pgtest.Empty(t), Logger: slog.New(slog.DiscardHandler),
		AccountRules: renamed(t, "Till"), patience: patience{quiet: time.Millisecond, answer: time.Minute}}
	busy(t, o.DatabaseURL, "costing")
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	o.Progress = func(string) { stop() }
	if _, err := Start(ctx, o); !errors.Is(err, context.Canceled) {
		t.Errorf("Start = %v, want it stopped", err)
	}
	if _, err := os.Stat(filepath.Join(o.Dir, rulesFile)); !os.IsNotExist(err) {
		t.Errorf("they are kept: %v", err)
	}
}
