package outbox

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/bus"
	"tackfree/pkg/pg"
)

const (
	relayBatch = 500                    // events a round
	relayPoll  = 200 * time.Millisecond // for events of another copy of the service
	electPoll  = time.Second            // for leadership
	tailPoll   = 5 * time.Second        // for a broker that lost its tail
)

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
	// BeforePublish, when set, runs between reading committed events and sending them,
	// and AfterPublish between sending and marking. Fault tests die there.
	BeforePublish, AfterPublish func()
}

// NewRelay makes a relay of the log's events to the stream.
func NewRelay(l *Log, stream Stream, logger *slog.Logger) *Relay {
	return &Relay{log: l, stream: stream, logger: logger}
}

// Run elects and relays until ctx ends. Trouble with database or broker is logged once
// a round and tried again.
func (r *Relay) Run(ctx context.Context) {
	for ctx.Err() == nil {
		if err := r.lead(ctx); err != nil && ctx.Err() == nil {
			r.logger.WarnContext(ctx, "relay stopped, trying again", "error", err)
		}
		sleep(ctx, electPoll)
	}
}

// lead relays for as long as this session holds the lock.
func (r *Relay) lead(ctx context.Context) error {
	conn, err := r.log.db.Session(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }() // the lock goes with it
	var leader bool
	key := pg.LockID(r.log.producer, "relay")
	if err := conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, key).Scan(&leader); err != nil || !leader {
		return err
	}
	var checked time.Time
	for ctx.Err() == nil {
		if time.Since(checked) > tailPoll {
			if err := r.checkTail(ctx, conn); err != nil {
				return err
			}
			checked = time.Now()
		}
		full, err := r.round(ctx, conn)
		if err != nil {
			return err
		}
		if !full {
			r.wait(ctx)
		}
	}
	return nil
}

func (r *Relay) wait(ctx context.Context) {
	timer := time.NewTimer(relayPoll)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-r.log.kick:
	case <-timer.C:
	}
}

// round sends one batch and marks what the broker stored; it reports a full batch.
func (r *Relay) round(ctx context.Context, conn *pgx.Conn) (bool, error) {
	ids, messages, err := r.unsent(ctx, conn)
	if err != nil || len(ids) == 0 {
		return false, err
	}
	call(r.BeforePublish)
	seqs, err := r.stream.Publish(ctx, messages)
	if err != nil {
		r.logger.WarnContext(ctx, "publish incomplete", "error", err)
	}
	call(r.AfterPublish)
	stored, err := r.mark(ctx, conn, ids, seqs)
	if err != nil {
		return false, err
	}
	if stored < len(ids) {
		sleep(ctx, electPoll) // the broker refuses or is away: no hot loop
	}
	return len(ids) == relayBatch, nil
}

// unsent reads in id order, which is version order within an aggregate because its row
// is locked when the id is issued. Never "id above the last": ids commit out of order.
func (r *Relay) unsent(ctx context.Context, conn *pgx.Conn) ([]int64, []bus.Message, error) {
	rows, err := conn.Query(ctx, `
		SELECT id, event_id::text, aggregate_id::text, version, coalesce(piece_id::text, ''), type, body
		FROM event WHERE published_at IS NULL ORDER BY id LIMIT $1`, relayBatch)
	if err != nil {
		return nil, nil, err
	}
	var ids []int64
	var messages []bus.Message
	var seq int64
	m := bus.Message{Producer: r.log.producer}
	_, err = pgx.ForEachRow(rows, []any{&seq, &m.EventID, &m.Aggregate, &m.Version, &m.Piece, &m.Type, &m.Body}, func() error {
		ids = append(ids, seq)
		messages = append(messages, m)
		m.Body = nil // the next row gets memory of its own
		return nil
	})
	return ids, messages, err
}

func (r *Relay) mark(ctx context.Context, conn *pgx.Conn, ids []int64, seqs []uint64) (int, error) {
	var stored, at []int64
	for i, seq := range seqs {
		if seq > 0 {
			stored, at = append(stored, ids[i]), append(at, int64(seq))
		}
	}
	if len(stored) == 0 {
		return 0, nil
	}
	_, err := conn.Exec(ctx, `
		UPDATE event SET published_at = now(), stream_seq = sent.seq
		FROM unnest($1::bigint[], $2::bigint[]) AS sent (id, seq) WHERE event.id = sent.id`, stored, at)
	if err != nil {
		return 0, fmt.Errorf("mark published: %w", err)
	}
	return len(stored), nil
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
