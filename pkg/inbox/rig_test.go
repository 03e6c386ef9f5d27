package inbox_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"slices"
	"strconv"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/bus"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "40") // each of them is dozens of transactions
	pgtest.Main(m)
}

var (
	dresser, table, chair = id.New(), id.New(), id.New()
	quiet                 = slog.New(slog.DiscardHandler)
	errMalformed          = errors.New("this number cannot be added")
)

// The consumer of these tests adds up the tags that a piece's events carry, and notes
// their versions in the order in which they came.
var sums = pg.Migrations{Name: "sums", Files: fstest.MapFS{"00001_sum.sql": {Data: []byte(`-- +goose Up
CREATE TABLE sum (producer text, aggregate_id uuid, total bigint NOT NULL, versions bigint[] NOT NULL, PRIMARY KEY (producer, aggregate_id));`)}}}

// adder is its handler. It refuses the numbers in refuse.
type adder struct {
	db       *pg.DB
	mu       sync.Mutex
	refuse   map[int32]error
	panics   map[int32]bool
	restored []string
	midway   func() // what happens while the first batch is applied

	cannotForget error
}

func (a *adder) Apply(ctx context.Context, tx *pg.Tx, events []inbox.Event) error {
	a.mu.Lock()
	midway := a.midway
	a.midway = nil
	a.mu.Unlock()
	if midway != nil {
		midway()
	}
	for _, e := range events {
		n := e.GetPieceTakenIn().GetTag()
		a.mu.Lock()
		err, panics := a.refuse[n], a.panics[n]
		a.mu.Unlock()
		if panics {
			panic("a number that nobody has thought of")
		}
		if err != nil {
			return err
		}
		_, _ = tx.Exec(ctx, `INSERT INTO sum (producer, aggregate_id, total, versions) VALUES ($1, $2, $3, ARRAY[$4::bigint])
			ON CONFLICT (producer, aggregate_id) DO UPDATE SET total = sum.total + $3, versions = sum.versions || $4::bigint`,
			e.Producer, e.Aggregate, int64(n), e.Version)
	}
	return nil
}

// Restored forgets what the producer said; what waits is not its business.
func (a *adder) Restored(ctx context.Context, producer string) error {
	a.mu.Lock()
	a.restored = append(a.restored, producer)
	a.mu.Unlock()
	if a.cannotForget != nil {
		return a.cannotForget
	}
	return a.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `DELETE FROM sum WHERE producer = $1`, producer)
		_, err := tx.Exec(ctx, `DELETE FROM applied WHERE producer = $1`, producer)
		return err
	})
}

func (a *adder) setRefuse(n int32, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.refuse[n] = err
}

// producer is a service's log, and its EventLogService.
type producer struct {
	eventsv1.EventLogServiceClient // what nobody asks it

	name   string
	mu     sync.Mutex
	epoch  string
	events []*eventsv1.Envelope
	pages  int  // that were asked for
	away   bool // it does not answer
}

// write appends the next event of an aggregate, which carries the number n.
func (p *producer) write(aggregate id.ID, n int32) *eventsv1.Envelope {
	p.mu.Lock()
	defer p.mu.Unlock()
	version := int64(1)
	for _, e := range p.events {
		if e.AggregateId == aggregate.String() {
			version++
		}
	}
	e := &eventsv1.Envelope{
		EventId: id.New().String(), Producer: p.name, Epoch: p.epoch, AggregateKind: "piece", AggregateId: aggregate.String(),
		Version: version, PieceId: aggregate.String(), OccurredAt: timestamppb.Now(), RecordedAt: timestamppb.Now(),
		Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: n}},
	}
	p.events = append(p.events, e)
	return e
}

// writeAll makes the log's events of an aggregate, one for each number.
func (p *producer) writeAll(aggregate id.ID, numbers ...int32) (events []*eventsv1.Envelope) {
	for _, n := range numbers {
		events = append(events, p.write(aggregate, n))
	}
	return events
}

// restore brings the log back to its first n events, as from a backup.
func (p *producer) restore(n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.events, p.epoch = slices.Clone(p.events[:n]), id.New().String()
}

func (p *producer) setAway(away bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.away = away
}

var errAway = fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "It cannot be reached.")

func (p *producer) ListEvents(_ context.Context, r *eventsv1.ListEventsRequest, _ ...grpc.CallOption) (*eventsv1.ListEventsResponse, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.pages++; p.away {
		return nil, errAway
	}
	after, _ := strconv.Atoi(r.PageToken)
	out := &eventsv1.ListEventsResponse{Epoch: p.epoch}
	for i, e := range p.events[after:] {
		if r.Aggregate != nil && (e.AggregateId != r.Aggregate.Id || e.Version <= r.AfterVersion) {
			continue
		}
		if len(out.Events) == 3 { // small pages, so that there are several
			out.NextPageToken = strconv.Itoa(after + i)
			break
		}
		out.Events = append(out.Events, e)
	}
	return out, nil
}

func (p *producer) ListHeads(_ context.Context, r *eventsv1.ListHeadsRequest, _ ...grpc.CallOption) (*eventsv1.ListHeadsResponse, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.away {
		return nil, errAway
	}
	heads := map[string]int64{}
	for _, e := range p.events {
		if r.ChangedSince == nil || !e.RecordedAt.AsTime().Before(r.ChangedSince.AsTime()) {
			heads[e.AggregateId] = e.Version
		}
	}
	out := &eventsv1.ListHeadsResponse{Epoch: p.epoch}
	for aggregate, version := range heads {
		out.Heads = append(out.Heads, &eventsv1.ListHeadsResponse_Head{
			Aggregate: &eventsv1.Aggregate{Kind: "piece", Id: aggregate}, Version: version})
	}
	return out, nil
}

type bundle struct {
	*inbox.Inbox
	db            *pg.DB
	adder         *adder
	intake, sales *producer
}

func setup(t testing.TB) *bundle {
	t.Helper()
	return over(pgtest.Open(t, "costing", nil, inbox.Migrations(), sums))
}

// over makes a consumer and its producers over a database.
func over(db *pg.DB) *bundle {
	b := &bundle{db: db, adder: &adder{db: db, refuse: map[int32]error{}, panics: map[int32]bool{}},
		intake: &producer{name: "intake", epoch: "first"}, sales: &producer{name: "sales", epoch: "first"}}
	b.Inbox = b.another()
	return b
}

// fresh empties the database for the next case, which takes a tenth of the time of a new
// one.
func (b *bundle) fresh(t *testing.T) *bundle {
	t.Helper()
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `TRUNCATE applied, parked, dead, source, sum`)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return over(b.db)
}

// another makes another copy of the consumer, or the one after a restart.
func (b *bundle) another() *inbox.Inbox {
	return inbox.New(b.db, "costing", map[string]eventsv1.EventLogServiceClient{"intake": b.intake, "sales": b.sales}, b.adder, time.Minute, quiet)
}

func delivery(e *eventsv1.Envelope) bus.Delivery {
	body, err := proto.Marshal(e)
	if err != nil {
		panic(err)
	}
	m := bus.Message{EventID: e.EventId, Producer: e.Producer, Type: "piece_taken_in", Aggregate: e.AggregateId, Version: e.Version, Piece: e.PieceId, Body: body}
	return bus.Delivery{Message: m, SubjectName: m.Subject()}
}

// deliver hands over one batch.
func (b *bundle) deliver(t *testing.T, events ...*eventsv1.Envelope) {
	t.Helper()
	var batch []bus.Delivery
	for _, e := range events {
		batch = append(batch, delivery(e))
	}
	b.deliverRaw(t, batch...)
}

func (b *bundle) deliverRaw(t *testing.T, batch ...bus.Delivery) {
	t.Helper()
	if err := b.Handle(t.Context(), batch); err != nil {
		t.Fatalf("Handle: %v", err)
	}
}

// sum reads what an aggregate of intake came to, such as "6 [1 2 3]", or "" for nothing.
func (b *bundle) sum(t testing.TB, aggregate id.ID) (got string) {
	return b.sumOf(t, "intake", aggregate)
}

func (b *bundle) sumOf(t testing.TB, producer string, aggregate id.ID) (got string) {
	t.Helper()
	b.scan(t, fmt.Sprintf("SELECT coalesce(max(total || ' ' || translate(versions::text, '{,}', '[ ]')), '') FROM sum WHERE producer = '%s' AND aggregate_id = '%s'", producer, aggregate), &got)
	return got
}

func (b *bundle) wantSum(t testing.TB, aggregate id.ID, want string) {
	t.Helper()
	if got := b.sum(t, aggregate); got != want {
		t.Errorf("sum and versions = %q, want %q", got, want)
	}
}

func (b *bundle) scan(t testing.TB, query string, dest ...any) {
	t.Helper()
	err := b.db.View(context.Background(), func(q pg.Querier) error {
		return q.QueryRow(context.Background(), query).Scan(dest...)
	})
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

// progress reads parked and dead.
func (b *bundle) progress(t testing.TB) (p inbox.Progress) {
	t.Helper()
	err := b.db.View(context.Background(), func(q pg.Querier) (err error) {
		p, err = inbox.ReadProgress(context.Background(), q)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func (b *bundle) wantProgress(t testing.TB, parked, dead int64) {
	t.Helper()
	if p := b.progress(t); p.Parked != parked || p.Dead != dead {
		t.Errorf("%d parked and %d dead, want %d and %d", p.Parked, p.Dead, parked, dead)
	}
}

// letters lists the open dead letters.
func (b *bundle) letters(t testing.TB) (letters []inbox.DeadLetter) {
	t.Helper()
	err := b.db.View(context.Background(), func(q pg.Querier) (err error) {
		letters, err = inbox.DeadLetters(context.Background(), q, id.Nil, 100)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return letters
}

// heal lets parked events grow old enough and heals until ok.
func (b *bundle) heal(t *testing.T, what string, ok func() bool) {
	t.Helper()
	eventually(t, what, func() bool {
		if err := b.Heal(t.Context()); err != nil {
			t.Fatal(err)
		}
		return ok()
	})
}

// eventually polls until ok, for at most ten seconds.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !ok(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("never happened: %s", what)
		}
	}
}
