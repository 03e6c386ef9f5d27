package outbox

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"tackfree/pkg/bus"
	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "40") // each of them is dozens of transactions
	pgtest.Main(m)
}

var (
	noon    = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	dresser = id.New()
	table   = id.New()
	quick   = pace{poll: 5 * time.Millisecond, elect: 10 * time.Millisecond, tail: 10 * time.Millisecond}
	quiet   = slog.New(slog.DiscardHandler)
)

type bundle struct {
	config pg.Config
	db     *pg.DB
	log    *Log
}

func setup(t testing.TB) *bundle {
	t.Helper()
	b := &bundle{config: pgtest.Config(t, "intake", Migrations())}
	b.db, b.log = b.open(t)
	return b
}

// open opens the log once more, as another copy of the service does.
func (b *bundle) open(t testing.TB) (*pg.DB, *Log) {
	t.Helper()
	db, err := pg.Open(t.Context(), b.config, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	log, err := Open(t.Context(), db, "intake")
	if err != nil {
		t.Fatal(err)
	}
	return db, log
}

func taken(piece id.ID, version int64) Event {
	return Event{Kind: "piece", Aggregate: piece, Version: version, Piece: piece, OccurredAt: noon,
		Payload: &eventsv1.PieceTakenIn{Tag: int32(version)}}
}

func (b *bundle) append(ctx context.Context, events ...Event) error {
	ctx = caller.With(ctx, caller.Caller{Actor: "Nell", RequestID: "r-1", TraceParent: "tp", TraceState: "ts"})
	return b.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		for _, e := range events {
			if err := b.log.Append(ctx, tx, e, noon); err != nil {
				return err
			}
		}
		return nil
	})
}

// write appends versions first to last of a piece.
func (b *bundle) write(t *testing.T, piece id.ID, first, last int64) {
	t.Helper()
	var events []Event
	for v := first; v <= last; v++ {
		events = append(events, taken(piece, v))
	}
	if err := b.append(t.Context(), events...); err != nil {
		t.Fatal(err)
	}
}

// scan reads one row.
func (b *bundle) scan(t testing.TB, query string, dest ...any) {
	t.Helper()
	err := b.db.View(context.Background(), func(q pg.Querier) error {
		return q.QueryRow(context.Background(), query).Scan(dest...)
	})
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

func (b *bundle) count(t testing.TB, where string) (n int) {
	t.Helper()
	b.scan(t, "SELECT count(*) FROM event WHERE "+where, &n)
	return n
}

func (b *bundle) allSent(t testing.TB) func() bool {
	return func() bool { return b.count(t, "published_at IS NULL") == 0 }
}

// run runs a relay until stop is called or the test ends.
func run(t *testing.T, r *Relay) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() { r.Run(ctx) })
	stop = func() {
		cancel()
		done.Wait()
	}
	t.Cleanup(stop)
	return stop
}

func (b *bundle) relay(s Stream) *Relay {
	r := NewRelay(b.log, s, quiet)
	r.pace = quick
	return r
}

// eventually polls until ok, for at most ten seconds.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("never happened: %s", what)
		}
	}
}

var errAway = errors.New("the broker is away")

// shelf is a stream in memory that can lose its tail, as a broker that loses power does.
type shelf struct {
	mu     sync.Mutex
	ids    []string
	sent   int // messages it was asked to store, repeats among them
	others int
	away   bool
}

func (s *shelf) Publish(_ context.Context, messages []bus.Message) ([]uint64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	seqs := make([]uint64, len(messages))
	if s.away {
		return seqs, errAway
	}
	for i, m := range messages {
		s.sent++
		if at := slices.Index(s.ids, m.EventID); at >= 0 {
			seqs[i] = uint64(at + 1)
			continue
		}
		s.ids = append(s.ids, m.EventID)
		seqs[i] = uint64(len(s.ids))
	}
	return seqs, nil
}

func (s *shelf) Holds(_ context.Context, seq uint64, eventID string) (bool, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.away {
		return false, errAway
	}
	return s.place(seq) == eventID, nil
}

// at gives the event at a place of the stream, whether or not it can be reached.
func (s *shelf) at(seq uint64) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.place(seq)
}

func (s *shelf) place(seq uint64) string {
	if int(seq) > len(s.ids) {
		return ""
	}
	return s.ids[seq-1]
}

// lose drops the newest n messages.
func (s *shelf) lose(n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ids = s.ids[:max(0, len(s.ids)-n)]
}

// grow stores n messages of another producer.
func (s *shelf) grow(n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for range n {
		s.others++
		s.ids = append(s.ids, fmt.Sprintf("other-%d", s.others))
	}
}

func (s *shelf) setAway(away bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.away = away
}

func (s *shelf) has(eventID string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Contains(s.ids, eventID)
}

// lost counts the log's events that the shelf does not have.
func (b *bundle) lost(t testing.TB, s *shelf, where string) (n int) {
	t.Helper()
	var all []string
	b.scan(t, "SELECT coalesce(array_agg(event_id::text), '{}') FROM event WHERE "+where, &all)
	for _, e := range all {
		if !s.has(e) {
			n++
		}
	}
	return n
}
