package outbox

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/bus"
	"tackfree/pkg/planted"
)

const relayBatch = 500 // events a round

// pace is how long a relay waits for what.
type pace struct {
	poll  time.Duration // for events of another copy of the service
	elect time.Duration // for leadership, and for a broker that is away
	tail  time.Duration // between looks at whether an idle broker lost its tail
}

var usualPace = pace{poll: 200 * time.Millisecond, elect: time.Second, tail: 5 * time.Second}

// Stream is what the relay asks of the broker.
type Stream interface {
	// Publish sends all messages and reports the stream sequence of each that was
	// stored, or 0; a repeat of a stored message counts as stored.
	Publish(ctx context.Context, messages []bus.Message) ([]uint64, error)
	// Holds reports whether the stream still has that event at that sequence.
	Holds(ctx context.Context, seq uint64, eventID string) (bool, error)
}

// Relay sends unsent events to the broker. Every copy of a service runs one; the
// session that holds the advisory lock publishes, and stops the moment it is lost,
// because it also reads and marks through that session.
type Relay struct {
	log    *Log
	stream Stream
	logger *slog.Logger
	pace   pace
	// BeforePublish, when set, runs between reading committed events and sending them,
	// and AfterPublish between sending and marking. Fault tests die there.
	BeforePublish, AfterPublish func()
}

// NewRelay makes a relay of the log's events to the stream.
func NewRelay(l *Log, stream Stream, logger *slog.Logger) *Relay {
	return &Relay{log: l, stream: stream, logger: logger, pace: usualPace}
}

// Run elects and relays until ctx ends. Trouble with database or broker is logged once
// a round and tried again.
func (r *Relay) Run(ctx context.Context) {
	for ctx.Err() == nil {
		if err := r.lead(ctx); err != nil && ctx.Err() == nil {
			r.logger.WarnContext(ctx, "relay stopped, trying again", "error", err)
		}
		sleep(ctx, r.pace.elect)
	}
}

// term is the time of one session as leader.
type term struct {
	*Relay
	conn   *pgx.Conn
	newest sent // of what is marked as sent; zero: nothing is
}

// lead relays for as long as this session holds the lock.
func (r *Relay) lead(ctx context.Context) error {
	conn, err := r.log.db.Session(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }() // the lock goes with it
	if err := r.win(ctx, conn); err != nil {
		return err
	}
	t := &term{Relay: r, conn: conn}
	if err := t.begin(ctx); err != nil {
		return err
	}
	var checked time.Time
	for ctx.Err() == nil {
		if time.Since(checked) > r.pace.tail {
			whole, err := t.checkTail(ctx)
			if err != nil {
				return err
			}
			if !whole {
				sleep(ctx, r.pace.poll)
				continue // nothing is sent to a broker that has not been looked at
			}
			checked = time.Now()
		}
		full, err := t.round(ctx)
		if err != nil {
			return err
		}
		if !full {
			r.wait(ctx)
		}
	}
	return nil
}

// win waits until the session holds the lock, or ctx ends.
func (r *Relay) win(ctx context.Context, conn *pgx.Conn) error {
	for {
		var leader bool
		if err := conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, relayLock(r.log.producer)).Scan(&leader); err != nil || leader {
			return err
		}
		sleep(ctx, r.pace.elect)
	}
}

// begin readies the session. To send everything again is one long statement.
func (t *term) begin(ctx context.Context) (err error) {
	if _, err = t.conn.Exec(ctx, `SET statement_timeout = '2min'`); err != nil {
		return err
	}
	t.newest, err = newestSent(ctx, t.conn)
	return err
}

func (r *Relay) wait(ctx context.Context) {
	timer := time.NewTimer(r.pace.poll)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-r.log.kick:
	case <-timer.C:
	}
}

// round sends one batch and marks what the broker stored; it reports a full batch.
func (t *term) round(ctx context.Context) (bool, error) {
	ids, messages, err := t.unsent(ctx)
	if err != nil || len(ids) == 0 {
		return false, err
	}
	call(t.BeforePublish)
	if planted.MarkBeforeAck {
		_ = t.mark(ctx, storedOf(ids, messages, slices.Repeat([]uint64{uint64(max(1, t.newest.seq))}, len(ids))))
	}
	seqs, err := t.stream.Publish(ctx, messages)
	if err != nil {
		t.logger.WarnContext(ctx, "publish incomplete", "error", err)
	}
	call(t.AfterPublish)
	stored := storedOf(ids, messages, seqs)
	if len(stored) > 0 {
		// A mark is set only on top of a tail that is whole: so the newest mark vouches
		// for all before it. What stays unmarked is sent again.
		whole, err := t.checkTail(ctx)
		if err != nil || !whole {
			return false, err
		}
		if err := t.mark(ctx, stored); err != nil {
			return false, err
		}
	}
	if len(stored) < len(ids) {
		sleep(ctx, t.pace.elect) // the broker refuses or is away: no hot loop
	}
	return len(ids) == relayBatch, nil
}

// unsent reads in id order, which is version order within an aggregate because its row
// is locked when the id is issued. Never "id above the last": ids commit out of order.
func (t *term) unsent(ctx context.Context) ([]int64, []bus.Message, error) {
	which := `published_at IS NULL`
	if planted.IDCursor {
		which = `id > (SELECT coalesce(max(id), 0) FROM event WHERE published_at IS NOT NULL)`
	}
	rows, err := t.conn.Query(ctx, `
		SELECT id, event_id::text, aggregate_id::text, version, coalesce(piece_id::text, ''), type, body
		FROM event WHERE `+which+` ORDER BY id LIMIT $1`, relayBatch)
	if err != nil {
		return nil, nil, err
	}
	var ids []int64
	var messages []bus.Message
	var seq int64
	m := bus.Message{Producer: t.log.producer}
	_, err = pgx.ForEachRow(rows, []any{&seq, &m.EventID, &m.Aggregate, &m.Version, &m.Piece, &m.Type, &m.Body}, func() error {
		ids = append(ids, seq)
		messages = append(messages, m)
		m.Body = nil // the next row gets memory of its own
		return nil
	})
	return ids, messages, err
}

// sent is an event and where the stream keeps it.
type sent struct {
	id, seq int64
	eventID string
}

func storedOf(ids []int64, messages []bus.Message, seqs []uint64) (stored []sent) {
	for i, seq := range seqs {
		if seq > 0 {
			stored = append(stored, sent{id: ids[i], seq: int64(seq), eventID: messages[i].EventID})
		}
	}
	return stored
}

func (t *term) mark(ctx context.Context, stored []sent) error {
	ids, seqs, newest := make([]int64, len(stored)), make([]int64, len(stored)), t.newest
	for i, s := range stored {
		ids[i], seqs[i] = s.id, s.seq
		if s.seq > newest.seq {
			newest = s
		}
	}
	_, err := t.conn.Exec(ctx, `
		UPDATE event SET published_at = now(), stream_seq = stored.seq
		FROM unnest($1::bigint[], $2::bigint[]) AS stored (id, seq) WHERE event.id = stored.id`, ids, seqs)
	if err != nil {
		return fmt.Errorf("mark published: %w", err)
	}
	t.newest = newest
	return nil
}

// newestSent reads the newest sent event by its place in the stream. Ids and places
// follow each other but for events that were stored or committed in another order, which
// are near each other.
func newestSent(ctx context.Context, conn *pgx.Conn) (s sent, err error) {
	err = conn.QueryRow(ctx, `
		SELECT id, stream_seq, event_id::text FROM (
			SELECT id, stream_seq, event_id FROM event WHERE published_at > $1 ORDER BY id DESC LIMIT $2) AS late
		ORDER BY stream_seq DESC LIMIT 1`, keptSince(), 2*relayBatch).Scan(&s.id, &s.seq, &s.eventID)
	if errors.Is(err, pgx.ErrNoRows) {
		return sent{}, nil
	}
	return s, err
}

func call(hook func()) {
	if hook != nil {
		hook()
	}
}

func sleep(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}
