package bench

import (
	"context"
	"log/slog"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/pgtest"
	"tackfree/services/shop/internal/suite"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

func short(t *testing.T) Options {
	t.Helper()
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	return Options{Rounds: 1, Slice: time.Second, Logger: slog.New(slog.DiscardHandler), Say: t.Logf, databaseURL: pgtest.Empty(t)}
}

func TestRun_RefusesToMeasureNothing(t *testing.T) {
	runs := map[string]func(context.Context, Options) error{
		"clock":   func(ctx context.Context, o Options) error { _, err := RunClock(ctx, o); return err },
		"costing": func(ctx context.Context, o Options) error { _, err := RunCosting(ctx, o); return err },
		"floor":   func(ctx context.Context, o Options) error { _, err := RunFloor(ctx, o); return err },
		"lag":     func(ctx context.Context, o Options) error { _, err := RunLag(ctx, o); return err },
		"pages":   func(ctx context.Context, o Options) error { _, err := RunPages(ctx, o); return err },
		"stock":   func(ctx context.Context, o Options) error { _, err := RunStock(ctx, o); return err },
	}
	for want, o := range map[string]Options{
		"at least 1 round, not 0":  {Rounds: 0, Slice: time.Second},
		"at least 1 round, not -1": {Rounds: -1, Slice: time.Second},
		"at least 1s, not 999ms":   {Rounds: 1, Slice: 999 * time.Millisecond},
		"at least 1s, not 0s":      {Rounds: 1},
	} {
		for name, run := range runs {
			if err := run(t.Context(), o); err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%s with %d rounds of %s = %v, want one that says %q", name, o.Rounds, o.Slice, err, want)
			}
		}
	}
}

func TestMedian(t *testing.T) {
	for want, of := range map[float64][]float64{3: {3}, 2.5: {4, 1, 2, 3}, 2: {9, 1, 2}} {
		if got := median(of); got != want {
			t.Errorf("median(%v) = %v, want %v", of, got, want)
		}
	}
}

// The measurement itself refuses a baseline that writes other rows than the service, so
// that it ends at all shows that they are the same.
func TestRunCosting_BaselineWritesWhatTheServiceWrites(t *testing.T) {
	r, err := runCosting(t.Context(), short(t), 6_000, 300)
	if err != nil {
		t.Fatal(err)
	}
	if r.BaselinePerS <= 0 {
		t.Errorf("the baseline comes to %v", r)
	}
}

// A baseline that leaves a row out is found.
func TestCostingBench_SameFindsAMissingRow(t *testing.T) {
	o := short(t)
	s, stop, err := start(t.Context(), o, func(so *suite.Options) { so.Only = []string{"costing"} })
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	b := &costingBench{suite: s, events: 600, pieces: 100}
	if err := b.open(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer b.close()
	if err := b.publish(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := b.book(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := b.same(t.Context()); err != nil {
		t.Errorf("the service's own rows: %v", err)
	}
	b.rows.batches[0].postings = b.rows.batches[0].postings[2:]
	if _, err := b.write(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := b.same(t.Context()); err == nil || !strings.Contains(err.Error(), "posting has") {
		t.Errorf("without the first two postings: %v", err)
	}
}

// The floor that is measured is one that the service shows.
func TestClockBench_FillsTheBoard(t *testing.T) {
	o := short(t)
	s, stop, err := start(t.Context(), o, func(so *suite.Options) { so.Only, so.WithoutBroker = []string{"workflow"}, true })
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	c := &clockBench{suite: s, fastest: 100, callers: 2, pieces: floorPieces}
	if err := c.fillFloor(t.Context()); err != nil {
		t.Fatal(err)
	}
	var r Floor
	if err := c.board(t.Context(), o, &r); err != nil || r.BoardP50ms <= 0 {
		t.Errorf("the board: %+v, %v", r, err)
	}
}

func TestRunLag_Short(t *testing.T) {
	r, err := RunLag(t.Context(), short(t))
	if err != nil {
		t.Fatal(err)
	}
	if r.Rate != lagRate || r.P50ms < 0 || r.P99ms < r.P50ms {
		t.Errorf("the lag comes to %+v", r)
	}
}

// However long turns are and however fast the machine, there is somebody to clock on.
func TestClockBench_HiresEnoughForEachTurn(t *testing.T) {
	s, stop, err := start(t.Context(), short(t), func(so *suite.Options) { so.Only, so.WithoutBroker = []string{"workflow"}, true })
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	c := &clockBench{suite: s, fastest: 100, callers: 8, pieces: 100}
	if err := c.fill(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, rate := range []float64{150, 220, 400} {
		_, err := c.turn(t.Context(), 2*time.Second, func(_ context.Context, d time.Duration) (float64, error) {
			took := int(rate * d.Seconds())
			if c.used+took > c.people {
				t.Errorf("%d people for %d that were used and %d more", c.people, c.used, took)
			}
			c.used += took
			return rate, nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if _, err := c.grpc(t.Context(), 50*time.Millisecond); err != nil {
		t.Errorf("clocking on: %v", err)
	}
}
