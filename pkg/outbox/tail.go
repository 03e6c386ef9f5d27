package outbox

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/bus"
)

// checkTail notices a broker that lost acknowledged messages and makes their events
// unsent again. JetStream acknowledges before the disk does unless told otherwise, and
// whoever deletes a stream deletes everybody's messages.
//
// It asks whether the stream still holds this producer's newest marked event where it
// was stored: that notices a younger stream, a shorter one, and one that was cut and has
// grown again by the messages of others. It reports whether the broker answered and
// holds everything.
func (t *term) checkTail(ctx context.Context) (whole bool, err error) {
	if t.newest == (sent{}) {
		return true, nil
	}
	held, err := t.holds(ctx, t.newest)
	if err != nil {
		t.logger.WarnContext(ctx, "broker away", "error", err)
		return false, nil // the log keeps everything meanwhile
	}
	if held {
		return true, nil
	}
	survivor, err := t.survivor(ctx)
	if err != nil {
		return false, err
	}
	lost, err := resend(ctx, t.conn, survivor)
	if err != nil {
		return false, err
	}
	t.logger.WarnContext(ctx, "broker lost its tail, sending again", "events", lost)
	t.newest, err = newestSent(ctx, t.conn)
	return false, err
}

// survivor finds, by halving, a late sent event that the stream still holds; the zero
// sent when there is none.
func (t *term) survivor(ctx context.Context) (survivor sent, err error) {
	lost := t.newest
	for {
		middle, err := sentBetween(ctx, t.conn, survivor.id, lost.id)
		if err != nil || middle == (sent{}) {
			return survivor, err
		}
		held, err := t.holds(ctx, middle)
		if err != nil {
			return survivor, err
		}
		if held {
			survivor = middle
		} else {
			lost = middle
		}
	}
}

func (t *term) holds(ctx context.Context, s sent) (bool, error) {
	return t.stream.Holds(ctx, uint64(s.seq), s.eventID)
}

// sentBetween reads a sent event near the middle of two ids, young enough that a healthy
// stream would still keep it; the zero sent when there is none between them.
func sentBetween(ctx context.Context, conn *pgx.Conn, above, below int64) (s sent, err error) {
	err = conn.QueryRow(ctx, `
		(SELECT id, stream_seq, event_id::text FROM event
		 WHERE id >= $3 AND id < $2 AND published_at > $4 ORDER BY id LIMIT 1)
		UNION ALL
		(SELECT id, stream_seq, event_id::text FROM event
		 WHERE id > $1 AND id < $3 AND published_at > $4 ORDER BY id DESC LIMIT 1)
		LIMIT 1`, above, below, above+(below-above+1)/2, keptSince()).Scan(&s.id, &s.seq, &s.eventID)
	if errors.Is(err, pgx.ErrNoRows) {
		return sent{}, nil
	}
	return s, err
}

// resend makes unsent what was stored behind the survivor: whatever the stream lost, it
// lost from its end.
func resend(ctx context.Context, conn *pgx.Conn, survivor sent) (int64, error) {
	tag, err := conn.Exec(ctx, `
		UPDATE event SET published_at = NULL, stream_seq = NULL WHERE stream_seq > $1 AND published_at > $2`,
		survivor.seq, keptSince())
	return tag.RowsAffected(), err
}

// keptSince leaves an hour of margin to the broker's own clock.
func keptSince() time.Time { return time.Now().Add(time.Hour - bus.Keep) }
