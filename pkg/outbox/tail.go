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
// It asks whether the stream still holds this producer's newest sent event where it was
// stored: that notices a younger stream, a shorter one, and one that was cut and has
// grown again by the messages of others.
func (r *Relay) checkTail(ctx context.Context, conn *pgx.Conn) error {
	newest, err := sentBefore(ctx, conn, 1<<62)
	if err != nil || newest.id == 0 {
		return err
	}
	held, err := r.holds(ctx, newest)
	if err != nil {
		r.logger.WarnContext(ctx, "broker away", "error", err)
		return nil // the log keeps everything meanwhile
	}
	if held {
		return nil
	}
	from, err := r.surviving(ctx, conn, newest.id)
	if err != nil {
		return err
	}
	lost, err := resend(ctx, conn, from)
	r.logger.WarnContext(ctx, "broker lost its tail, sending again", "events", lost)
	return err
}

// surviving finds, by halving, the id of the newest sent event that the stream still
// holds; 0 when it holds none.
func (r *Relay) surviving(ctx context.Context, conn *pgx.Conn, lost int64) (int64, error) {
	var survives int64
	for lost-survives > 1 {
		middle, err := sentBefore(ctx, conn, survives+(lost-survives+1)/2+1)
		if err != nil {
			return 0, err
		}
		if middle.id <= survives { // nothing sent in the lower half
			middle, err = sentBefore(ctx, conn, lost)
			if err != nil || middle.id <= survives {
				return survives, err
			}
		}
		held, err := r.holds(ctx, middle)
		if err != nil {
			return 0, err
		}
		if held {
			survives = middle.id
		} else {
			lost = middle.id
		}
	}
	return survives, nil
}

func (r *Relay) holds(ctx context.Context, s sent) (bool, error) {
	return r.stream.Holds(ctx, uint64(s.seq), s.eventID)
}

type sent struct {
	id, seq int64
	eventID string
}

// sentBefore reads the newest sent event with a smaller id, young enough that a healthy
// stream would still keep it; the zero sent when there is none.
func sentBefore(ctx context.Context, conn *pgx.Conn, id int64) (sent, error) {
	var s sent
	err := conn.QueryRow(ctx, `
		SELECT id, stream_seq, event_id::text FROM event
		WHERE id < $1 AND published_at > $2 ORDER BY id DESC LIMIT 1`, id, keptSince()).
		Scan(&s.id, &s.seq, &s.eventID)
	if errors.Is(err, pgx.ErrNoRows) {
		return sent{}, nil
	}
	return s, err
}

// resend makes the events after id unsent. It begins a batch earlier, for the members
// of one batch may have been stored in another order than they were written.
func resend(ctx context.Context, conn *pgx.Conn, id int64) (int64, error) {
	tag, err := conn.Exec(ctx, `
		UPDATE event SET published_at = NULL, stream_seq = NULL WHERE id > $1 AND published_at > $2`,
		id-relayBatch, keptSince())
	return tag.RowsAffected(), err
}

// keptSince leaves an hour of margin to the broker's own clock.
func keptSince() time.Time { return time.Now().Add(time.Hour - bus.Keep) }
