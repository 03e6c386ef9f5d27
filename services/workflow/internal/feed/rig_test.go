package feed

import (
	"context"
	"errors"
	"log/slog"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// floor is a log and a hub over it.
type floor struct {
	*Hub
	config pg.Config
	db     *pg.DB
}

func setup(t *testing.T) *floor {
	t.Helper()
	f := &floor{config: pgtest.Config(t, "workflow", outbox.Migrations())}
	f.config.MaxConns = 10
	db, log := f.open(t)
	f.db, f.Hub = db, NewHub(log, says, slog.New(slog.DiscardHandler))
	f.run(t)
	return f
}

func sentenceOf(e *eventsv1.Envelope) string { return "Event " + e.EventId + " happened." }

// says puts events into sentences.
func says(_ context.Context, events []*eventsv1.Envelope) (texts []string, err error) {
	for _, e := range events {
		texts = append(texts, sentenceOf(e))
	}
	return texts, nil
}

// run runs the hub until the test ends.
func (f *floor) run(t *testing.T) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	var done sync.WaitGroup
	hub := f.Hub
	done.Go(func() { hub.Run(ctx) })
	t.Cleanup(func() {
		stop()
		done.Wait()
	})
}

// open opens the log as a copy of the service does.
func (f *floor) open(t *testing.T) (*pg.DB, *outbox.Log) {
	t.Helper()
	db, err := pg.Open(t.Context(), f.config, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	log, err := outbox.Open(t.Context(), db, "workflow")
	if err != nil {
		t.Fatal(err)
	}
	return db, log
}

var errChanged = errors.New("thought better of it")

// write writes the next events of a piece in one transaction that stays open for some
// milliseconds and may be rolled back.
func write(ctx context.Context, db *pg.DB, log *outbox.Log, piece id.ID, first, n int64, millis int, commit bool) error {
	return db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		for v := first; v < first+n; v++ {
			e := outbox.Event{Kind: "piece", Aggregate: piece, Version: v, Piece: piece, OccurredAt: time.Now(), Payload: &eventsv1.ClockedOff{}}
			if err := log.Append(ctx, tx, e, time.Now()); err != nil {
				return err
			}
		}
		var none string
		if err := tx.QueryRow(ctx, `SELECT pg_sleep($1::float8 / 1000)::text`, millis).Scan(&none); err != nil || commit {
			return err
		}
		return errChanged
	})
}

func (f *floor) write(t *testing.T, piece id.ID, first, n int64) {
	t.Helper()
	if err := write(t.Context(), f.db, f.log, piece, first, n, 0, true); err != nil {
		t.Fatal(err)
	}
}

// seen is what a watcher was told, with the positions.
type seen struct {
	mu     sync.Mutex
	events []*eventsv1.Envelope
	at     []string
	unsaid int // of them without their sentences
}

func (s *seen) give(t Told) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.events, s.at = append(s.events, t.Event), append(s.at, t.Position)
	if t.Text != sentenceOf(t.Event) {
		s.unsaid++
	}
	return nil
}

func (s *seen) count() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.events)
}

// back forgets the last few events, and is where to go on before them.
func (s *seen) back() (position string) {
	n := len(s.events) - rand.IntN(min(len(s.events), 10)+1)
	s.events, s.at = s.events[:n], s.at[:n]
	if n == 0 {
		return ""
	}
	return s.at[n-1]
}

// resume is a position; empty is before all events.
func (f *floor) resume(t *testing.T, position string) (at outbox.Position) {
	t.Helper()
	if position == "" {
		return at
	}
	at, err := f.log.Resume(t.Context(), position)
	if err != nil {
		t.Error(err)
	}
	return at
}

// watch watches from a position until stop is called.
func (f *floor) watch(t *testing.T, from outbox.Position, give Give) (stop func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- f.Watch(ctx, nil, from, give) }()
	return func() error {
		cancel()
		return <-ended
	}
}

// eventually polls until ok, for at most ten seconds.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !ok(); time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Errorf("never happened: %s", what)
			return
		}
	}
}

// logged are the ids of all events.
func (f *floor) logged(t *testing.T) (all []string) {
	t.Helper()
	err := f.db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT coalesce(array_agg(event_id::text ORDER BY event_id), '{}') FROM event`).Scan(&all)
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// wantAll checks that each event was told once, and those of a piece in their order.
func (s *seen) wantAll(t *testing.T, all []string) {
	t.Helper()
	var got []string
	last := map[string]int64{}
	for _, e := range s.events {
		got = append(got, e.EventId)
		if e.Version != last[e.AggregateId]+1 {
			t.Errorf("version %d came after %d", e.Version, last[e.AggregateId])
		}
		last[e.AggregateId] = e.Version
	}
	if s.unsaid > 0 {
		t.Errorf("%d events were told without their sentences", s.unsaid)
	}
	slices.Sort(got)
	if !slices.Equal(got, all) {
		t.Errorf("told of %d events, %d of them different, and there are %d", len(got), len(slices.Compact(slices.Clone(got))), len(all))
	}
}
