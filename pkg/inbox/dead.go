package inbox

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/bus"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// deadLetter is a message or event about to be put aside.
type deadLetter struct {
	cause     string // damaged or refused
	producer  string
	aggregate *id.ID
	piece     *id.ID
	version   int64
	eventID   string
	subject   string
	body      []byte
	err       error
}

// fromDelivery keeps what the headers of a damaged message tell, if they tell anything.
func fromDelivery(d bus.Delivery, err error) deadLetter {
	l := deadLetter{cause: "damaged", producer: producerIn(d), version: d.Version, eventID: d.EventID, subject: d.SubjectName, body: d.Body, err: err}
	if a, err := id.Parse(d.Aggregate); err == nil {
		l.aggregate = &a
	}
	if p, err := id.Parse(d.Piece); err == nil {
		l.piece = &p
	}
	if l.eventID == "" {
		l.eventID = fmt.Sprintf("stream:%d", d.StreamSeq)
	}
	return l
}

// producerIn falls back on the subject: tackfree.v1.{producer}.{event}.{piece}.
func producerIn(d bus.Delivery) string {
	if words := strings.Split(d.SubjectName, "."); d.Producer == "" && len(words) > 2 {
		return words[2]
	}
	return d.Producer
}

func fromEvent(e Event, err error) deadLetter {
	body, _ := e.encoded() // it was decoded from these bytes
	l := deadLetter{cause: "refused", producer: e.Producer, aggregate: &e.Aggregate, version: e.Version, eventID: e.EventId, body: body, err: err}
	if e.Piece != id.Nil {
		l.piece = &e.Piece
	}
	return l
}

// bury puts letters aside; one that is there already counts one more try.
func (in *Inbox) bury(ctx context.Context, letters []deadLetter) error {
	return in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		for _, l := range letters {
			l.write(ctx, tx)
		}
		return nil
	})
}

// refuse puts an event aside and parks those behind it.
func (in *Inbox) refuse(ctx context.Context, guilty Event, behind []Event, cause error) error {
	var p panicked
	errors.As(cause, &p)
	in.logger.ErrorContext(ctx, "event refused", "event", guilty.EventId, "producer", guilty.Producer, "error", cause, "stack", string(p.stack))
	return in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		fromEvent(guilty, cause).write(ctx, tx)
		_, _ = tx.Exec(ctx, `DELETE FROM parked WHERE producer = $1 AND aggregate_id = $2 AND version = $3`,
			guilty.Producer, guilty.Aggregate, guilty.Version) // put off: its error comes later
		return park(ctx, tx, behind)
	})
}

func (l deadLetter) write(ctx context.Context, tx *pg.Tx) {
	_, _ = tx.Exec(ctx, `
		INSERT INTO dead (id, cause, producer, aggregate_id, version, piece_id, event_id, subject, body, error, tries, first_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, coalesce($9::bytea, ''), $10, 1, now())
		ON CONFLICT (producer, event_id) DO UPDATE
		SET tries = dead.tries + 1, error = excluded.error, cause = excluded.cause, resolved_at = NULL`,
		id.New(), l.cause, plain(l.producer), l.aggregate, l.version, l.piece, plain(l.eventID), plain(l.subject), l.body, plain(l.err.Error()))
}

// plain is text that the database can keep; the headers of a damaged message may hold
// anything.
func plain(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "\uFFFD")
}

// DeadLetter is a message or event that was put aside and is still open.
type DeadLetter struct {
	ID                id.ID
	Producer, Subject string
	EventID, Error    string
	Aggregate, Piece  *id.ID
	Tries             int32
	FirstAt           time.Time
}

const deadColumns = `id, producer, subject, event_id, error, aggregate_id, piece_id, tries, first_at`

func (l *DeadLetter) targets() []any {
	return []any{&l.ID, &l.Producer, &l.Subject, &l.EventID, &l.Error, &l.Aggregate, &l.Piece, &l.Tries, &l.FirstAt}
}

// DeadLetters lists open letters by id.
func DeadLetters(ctx context.Context, q pg.Querier, after id.ID, limit int32) ([]DeadLetter, error) {
	rows, err := q.Query(ctx, `SELECT `+deadColumns+` FROM dead WHERE resolved_at IS NULL AND id > $1 ORDER BY id LIMIT $2`, after, limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (l DeadLetter, err error) {
		return l, row.Scan(l.targets()...)
	})
}

// Retry applies a dead letter's event again, from the producer's own copy, and what
// waits behind it. A letter that belongs to no event is closed. Faults:
// DEAD_LETTER_NOT_FOUND, EVENT_REFUSED.
func (in *Inbox) Retry(ctx context.Context, letter id.ID) error {
	var l DeadLetter
	err := in.db.View(ctx, func(q pg.Querier) error {
		return q.QueryRow(ctx, `SELECT `+deadColumns+` FROM dead WHERE id = $1 AND resolved_at IS NULL`, letter).Scan(l.targets()...)
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.New(fault.NotFound, "DEAD_LETTER_NOT_FOUND", "There is no open dead letter of that name.").At("name")
	}
	if err != nil {
		return err
	}
	if l.Aggregate == nil || in.producers[l.Producer] == nil {
		return in.resolve(ctx, letter)
	}
	if err := in.mend(ctx, key{l.Producer, *l.Aggregate}); err != nil {
		return err
	}
	return in.stillOpen(ctx, letter)
}

// stillOpen tells, after a retry, why the letter is open.
func (in *Inbox) stillOpen(ctx context.Context, letter id.ID) error {
	var text string
	err := in.db.View(ctx, func(q pg.Querier) error {
		return q.QueryRow(ctx, `SELECT error FROM dead WHERE id = $1 AND resolved_at IS NULL`, letter).Scan(&text)
	})
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return nil
	case err != nil:
		return err
	}
	return fault.New(fault.Precondition, "EVENT_REFUSED", "The event was refused again: %s.", text)
}

func (in *Inbox) resolve(ctx context.Context, letter id.ID) error {
	return in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `UPDATE dead SET resolved_at = now() WHERE id = $1`, letter)
		return err
	})
}
