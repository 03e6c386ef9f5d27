// Package inbox applies each producer's events once, in order for each aggregate,
// however the broker delivers them. Plumbing.
//
//	JetStream ── Handle ──┐                        ┌─▶ handler's rows
//	                      ├─▶ book, one transaction ┼─▶ applied versions
//	producer's log ─ heal ┘                        ├─▶ parked (a version is missing)
//	   ▲                                           └─▶ dead   (unreadable or refused)
//	   └── compare heads now and then: whatever is missing is fetched
//
// The next version of an aggregate is applied, an older one is a repeat, a later one
// waits. Position lives in the same transaction as the effect, and messages are
// acknowledged after the commit; so a crash anywhere means repeats and never loss.
//
// A producer that was restored from a backup issues versions a second time. Its events
// carry the epoch of its log; what another epoch says is asked for anew.
package inbox

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

//go:embed migrations/*.sql
var files embed.FS

// Migrations are the tables that a consumer has in its schema.
func Migrations() pg.Migrations {
	root, err := fs.Sub(files, "migrations")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	return pg.Migrations{Name: "inbox", Files: root}
}

// Event is an envelope whose ids have been read.
type Event struct {
	*eventsv1.Envelope
	ID        id.ID
	Aggregate id.ID
	Piece     id.ID // id.Nil: about no piece
	body      []byte
	log       string // epoch of the log that vouches for it
	parked    bool   // it was read from the parked ones
}

// Handler does what a consumer does about events.
type Handler interface {
	// Apply applies events in tx; those of one aggregate come in version order, and
	// nothing may depend on any other order. An error refuses them all; when it is not
	// the database's passing trouble, the guilty event is found and put aside.
	Apply(ctx context.Context, tx *pg.Tx, events []Event) error
	// Restored is told that a producer came back from a backup: versions may have been
	// issued again with other content. It takes back what was applied, and its versions;
	// the log is read anew afterwards. After a crash it may be told a second time.
	Restored(ctx context.Context, producer string) error
}

// Inbox is one consumer's way in.
type Inbox struct {
	db        *pg.DB
	schema    string
	producers map[string]eventsv1.EventLogServiceClient
	handler   Handler
	logger    *slog.Logger
	every     time.Duration // between comparisons
	wake      chan struct{}
	alone     chan struct{} // nobody brings anything; it must be asked for
	brought   atomic.Int64  // events that were asked for, of single aggregates

	trouble   atomic.Pointer[string]
	comparing sync.Mutex
	compared  map[string]time.Time // when all heads of a producer were last compared
}

// New makes the inbox of a consumer whose schema is db's. It follows the producers
// given and compares itself with them every so often.
func New(db *pg.DB, schema string, producers map[string]eventsv1.EventLogServiceClient, h Handler, every time.Duration, logger *slog.Logger) *Inbox {
	return &Inbox{db: db, schema: schema, producers: producers, handler: h, every: every, logger: logger,
		wake: make(chan struct{}, 1), alone: make(chan struct{}, 1), compared: map[string]time.Time{}}
}

// decode reads a delivery. The error says why it cannot be trusted.
func decode(d bus.Delivery) (Event, error) {
	env, err := d.Envelope()
	if err != nil {
		return Event{}, fmt.Errorf("not an envelope: %w", err)
	}
	e, err := read(env, d.Body)
	if err != nil {
		return Event{}, err
	}
	e.log = env.Epoch
	if d.EventID != env.EventId || d.Aggregate != env.AggregateId || d.Version != env.Version || d.Producer != env.Producer || d.Piece != env.PieceId {
		return Event{}, fmt.Errorf("the message's headers and its envelope tell of different events")
	}
	return e, nil
}

// read checks an envelope's own words; body is its encoding, or nil.
func read(env *eventsv1.Envelope, body []byte) (e Event, err error) {
	e = Event{Envelope: env, body: body}
	if e.ID, err = id.Parse(env.EventId); err != nil {
		return e, fmt.Errorf("event id: %w", err)
	}
	if e.Aggregate, err = id.Parse(env.AggregateId); err != nil {
		return e, fmt.Errorf("aggregate id: %w", err)
	}
	if env.PieceId != "" {
		if e.Piece, err = id.Parse(env.PieceId); err != nil {
			return e, fmt.Errorf("piece id: %w", err)
		}
	}
	switch {
	case env.Version < 1:
		return e, fmt.Errorf("version %d is below 1", env.Version)
	case !env.OccurredAt.IsValid() || !env.RecordedAt.IsValid():
		return e, fmt.Errorf("it has no valid time")
	}
	return e, nil
}

// encoded gives the event's bytes, for keeping.
func (e Event) encoded() ([]byte, error) {
	if e.body != nil {
		return e.body, nil
	}
	return proto.Marshal(e.Envelope)
}
