package books

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Unbooked is what producers have recorded and these books do not say. The shadow says it no more than
// they do, for what one program refuses it refuses twice; so no row differs by it.
type Unbooked struct {
	Refused int64 // events that cannot be booked, and messages of which nobody knows whose they are
	Waiting int64 // events behind such a one, or behind one that is missing of their producer's log
	First   Event // the first that was refused, or else that waits, if there is one
}

// Any reports that there is something.
func (u Unbooked) Any() bool { return u.Refused+u.Waiting > 0 }

// Event is an event that is not booked. What a damaged message does not tell of it is empty.
type Event struct {
	Producer, Aggregate, ID string
	Reason                  string
}

// unbooked counts what is not booked, once the shadow and the live books are compared. What waits in the live
// books may only be early. The shadow has read the whole logs, and what was recorded behind its back it got as it
// followed the live books, which had asked for it; so what still waits there waits for what is nowhere.
func (k *Keeper) unbooked(ctx context.Context, s *shadow) (u Unbooked, err error) {
	err = s.db.View(ctx, func(q pg.Querier) error {
		return errors.Join(s.behind(ctx, q, &u), s.refused(ctx, q, slices.Collect(maps.Keys(k.Producers)), &u))
	})
	return u, err
}

// refused counts the open letters of both sides, each once. A damaged message that tells whose it was is none: its
// event is asked for, and compared like any other. The first one counts before whatever waits.
func (s *shadow) refused(ctx context.Context, q pg.Querier, producers []string, u *Unbooked) error {
	var first Event
	err := q.QueryRow(ctx, fmt.Sprintf(`
		SELECT count(*) OVER (), producer, aggregate, event_id, error FROM (
			SELECT DISTINCT ON (producer, event_id) producer, coalesce(aggregate_id::text, '') AS aggregate, event_id, error, first_at FROM (
				SELECT producer, aggregate_id, event_id, error, first_at FROM %s.dead
				WHERE resolved_at IS NULL AND (cause = 'refused' OR aggregate_id IS NULL OR producer <> ALL ($1))
				UNION ALL SELECT producer, aggregate_id, event_id, error, first_at FROM dead WHERE resolved_at IS NULL) AS both_sides
			ORDER BY producer, event_id, first_at) AS letter
		ORDER BY first_at, event_id LIMIT 1`, s.live), producers).
		Scan(&u.Refused, &first.Producer, &first.Aggregate, &first.ID, &first.Reason)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil
	}
	u.First = first
	return err
}

// behind counts what waits in the shadow, and says for what the first of it does.
func (s *shadow) behind(ctx context.Context, q pg.Querier, u *Unbooked) error {
	var first Event
	var missing int64
	var body []byte
	err := q.QueryRow(ctx, `
		SELECT count(*) OVER (), producer, p.aggregate_id::text, coalesce(a.version, 0) + 1, p.body
		FROM parked p LEFT JOIN applied a USING (producer, aggregate_id) ORDER BY p.since, producer, p.aggregate_id, p.version LIMIT 1`).
		Scan(&u.Waiting, &first.Producer, &first.Aggregate, &missing, &body)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return nil
	case err != nil:
		return err
	}
	env := &eventsv1.Envelope{}
	if err := proto.Unmarshal(body, env); err != nil {
		return fmt.Errorf("parked event: %w", err)
	}
	first.ID, first.Reason = env.EventId, fmt.Sprintf("it waits for version %d, which is not in the record of %s", missing, first.Producer)
	u.First = first
	return nil
}
