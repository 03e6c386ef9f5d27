// Package bench measures a shop beside a baseline of the same minute, for on a busy
// machine only ratios can be trusted: candidate and baseline run in turns, and the median
// of the turns' ratios is what counts. Everything it needs it starts by itself.
package bench

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"runtime"
	"slices"
	"strings"
	"time"

	"tackfree/services/shop/internal/suite"
)

// Options of a measurement.
type Options struct {
	PayAlone bool          // of years: hours cost pay, and neither burden nor overhead nor overtime
	Rounds   int           // turns of each side
	Slice    time.Duration // length of a turn, where turns have one
	Logger   *slog.Logger
	Say      func(format string, args ...any) // progress for people

	databaseURL string // a test's; empty: a private Postgres
}

// check refuses lengths that would measure nothing.
func (o Options) check() error {
	switch {
	case o.Rounds < 1:
		return fmt.Errorf("there must be at least 1 round, not %d", o.Rounds)
	case o.Slice < time.Second:
		return fmt.Errorf("a turn must take at least 1s, not %s", o.Slice)
	}
	return nil
}

// settings make the private Postgres like a small real one: durable, with some memory.
var settings = map[string]string{"shared_buffers": "256MB", "max_wal_size": "4GB", "checkpoint_timeout": "30min", "synchronous_commit": "on"}

// start starts a suite in a folder of its own; stop removes it.
func start(ctx context.Context, o Options, change func(*suite.Options)) (s *suite.Suite, stop func(), err error) {
	if err := o.check(); err != nil {
		return nil, nil, err
	}
	dir, err := os.MkdirTemp("", "tackfree-bench-")
	if err != nil {
		return nil, nil, err
	}
	if err := os.Chmod(dir, 0o711); err != nil { // the database may run as another user
		return nil, nil, err
	}
	so := suite.Options{Dir: dir, DatabaseURL: o.databaseURL, Currency: "USD", Zone: "UTC", Reconcile: time.Hour, Logger: o.Logger, Postgres: settings}
	change(&so)
	s, err = suite.Start(ctx, so)
	if err != nil {
		_ = os.RemoveAll(dir)
		return nil, nil, err
	}
	return s, func() {
		s.Stop()
		_ = os.RemoveAll(dir)
	}, nil
}

// median of a few figures, at least one.
func median(figures []float64) float64 {
	s := slices.Sorted(slices.Values(figures))
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// Machine says what the figures were measured on.
func Machine() string {
	load, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return runtime.GOOS + "/" + runtime.GOARCH
	}
	return strings.Join([]string{runtime.GOOS + "/" + runtime.GOARCH, runtime.Version(), "load " + strings.Fields(string(load))[0]}, ", ")
}
