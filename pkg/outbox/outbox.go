// Package outbox makes a command and its event one. Plumbing.
//
//	command ── InTx ──▶ rows + event row ── commit ──▶ kick
//	                                                    │
//	     EventLogService ◀── event log ◀── Relay (one elected a service)
//	     (consumers heal from it)  │          │ publish, then mark
//	                               ▼          ▼
//	             Feed: live to clients     JetStream
//
// An event carries the next version of its aggregate, issued while the aggregate's row
// is locked: one dense number gives order, de-duplication and gap detection. The log is
// the truth; the broker may lose, repeat or shuffle what the relay sends.
package outbox

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"sync"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

//go:embed migrations/*.sql
var files embed.FS

// Migrations are the tables of the log; every producer has them in its schema.
func Migrations() pg.Migrations {
	root, err := fs.Sub(files, "migrations")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	return pg.Migrations{Name: "outbox", Files: root}
}

// Log is a producer's own record of its events.
type Log struct {
	producer string
	epoch    string
	db       *pg.DB
	kick     chan struct{}
	mu       sync.Mutex
	wakes    []chan struct{} // others beside kick
}

// Open reads the log's epoch, or gives the log its first one.
func Open(ctx context.Context, db *pg.DB, producer string) (*Log, error) {
	var epoch id.ID
	err := db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		// Two statements, so that a copy which loses the race reads what the winner wrote.
		_, _ = tx.Exec(ctx, `INSERT INTO producer (epoch) VALUES ($1) ON CONFLICT DO NOTHING`, id.New())
		return tx.QueryRow(ctx, `SELECT epoch FROM producer`).Scan(&epoch)
	})
	if err != nil {
		return nil, fmt.Errorf("open event log of %s: %w", producer, err)
	}
	return &Log{producer: producer, epoch: epoch.String(), db: db, kick: make(chan struct{}, 1)}, nil
}

// Event is a fact about to be written.
type Event struct {
	Kind       string // of the aggregate: piece, person, product …
	Aggregate  id.ID
	Version    int64 // the aggregate's version that this event makes
	Piece      id.ID // the piece it is about, or id.Nil
	OccurredAt time.Time
	Payload    proto.Message // one of the envelope's payloads
}

// largest is the most bytes an event may have: half of what the broker takes, and few
// enough that a page of them fits into an answer.
const largest = 512 << 10

// Append writes the event in the command's transaction and wakes the relay after the
// commit. now is the instant of the command. Fault: EVENT_TOO_LARGE. A payload that the
// envelope does not know is a bug and panics.
func (l *Log) Append(ctx context.Context, tx *pg.Tx, e Event, now time.Time) error {
	env, name := l.envelope(ctx, e, now)
	body, err := proto.Marshal(env)
	if err != nil {
		return fmt.Errorf("encode event: %w", err)
	}
	if len(body) > largest {
		return fault.New(fault.Invalid, "EVENT_TOO_LARGE",
			"The request writes a record of %d KiB, and %d KiB is the most; split it, or shorten its texts.", len(body)>>10, largest>>10)
	}
	var piece *id.ID
	if e.Piece != id.Nil {
		piece = &e.Piece
	}
	// The transaction gets its own id before the event gets one: a Feed counts on it.
	_, err = tx.Exec(ctx, `
		WITH own AS MATERIALIZED (SELECT pg_current_xact_id() AS xid)
		INSERT INTO event (event_id, aggregate_kind, aggregate_id, version, piece_id, type, body, recorded_at)
		SELECT $1, $2, $3, $4, $5, $6, $7, $8 FROM own WHERE xid IS NOT NULL`,
		env.EventId, e.Kind, e.Aggregate, e.Version, piece, name, body, now)
	tx.After(l.Kick)
	return err
}

// Kick wakes the relay, if it runs in this process, and whoever has asked for Wakes.
func (l *Log) Kick() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, c := range append(l.wakes, l.kick) {
		select {
		case c <- struct{}{}:
		default: // it has not looked since the last time, and will
		}
	}
}

// Wakes gives a channel, for good, that says after commits of this process that there are
// events: once for all since it was last read.
func (l *Log) Wakes() <-chan struct{} {
	l.mu.Lock()
	defer l.mu.Unlock()
	c := make(chan struct{}, 1)
	l.wakes = append(l.wakes, c)
	return c
}

func (l *Log) envelope(ctx context.Context, e Event, now time.Time) (*eventsv1.Envelope, string) {
	from := caller.Of(ctx)
	env := &eventsv1.Envelope{
		EventId: id.New().String(), Producer: l.producer, Epoch: l.epoch,
		AggregateKind: e.Kind, AggregateId: e.Aggregate.String(), Version: e.Version,
		OccurredAt: timestamppb.New(e.OccurredAt), RecordedAt: timestamppb.New(now),
		Actor: from.Actor, RequestId: from.RequestID, TraceParent: from.TraceParent, TraceState: from.TraceState,
	}
	if e.Piece != id.Nil {
		env.PieceId = e.Piece.String()
	}
	field := payloadField(e.Payload)
	env.ProtoReflect().Set(field, protoreflect.ValueOfMessage(e.Payload.ProtoReflect()))
	return env, string(field.Name())
}

var payloads = func() map[protoreflect.FullName]protoreflect.FieldDescriptor {
	fields := (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
	byType := make(map[protoreflect.FullName]protoreflect.FieldDescriptor, fields.Len())
	for i := range fields.Len() {
		byType[fields.Get(i).Message().FullName()] = fields.Get(i)
	}
	return byType
}()

func payloadField(m proto.Message) protoreflect.FieldDescriptor {
	name := m.ProtoReflect().Descriptor().FullName()
	field, ok := payloads[name]
	if !ok {
		panic(fmt.Sprintf("outbox: %s is not a payload of the envelope", name))
	}
	return field
}
