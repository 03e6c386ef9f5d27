package books

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// tables are what a rebuild recomputes. Pay rates and locks of weeks are costing's own record
// and are kept.
var tables = []string{"posting", "stretch", "clock", "outside_work", "review", "mark", "person", "piece", "applied", "parked"}

// helpers are tables that the shadow needs as well and that are not put in place.
var helpers = []string{"dead", "source", "pay_rate"}

// shadow is a second set of tables, in the temporary schema of one session, with an inbox
// of its own over the producers' logs. Its search path names nothing but that schema: if
// the session is lost, its statements fail rather than reach the live tables.
type shadow struct {
	db    *pg.DB
	inbox *inbox.Inbox
	live  string // schema of the live tables
}

func (k *Keeper) newShadow(ctx context.Context) (*shadow, error) {
	c := k.Config
	c.Schema, c.MaxConns = "pg_temp", 1
	c.StatementTimeout, c.LockTimeout = 10*time.Minute, 30*time.Second
	db, err := pg.OpenSession(ctx, c)
	if err != nil {
		return nil, err
	}
	s := &shadow{db: db, live: k.Config.Schema}
	if err := s.create(ctx); err != nil {
		db.Close()
		return nil, fmt.Errorf("make shadow tables: %w", err)
	}
	s.inbox = inbox.New(db, "shadow of "+k.Config.Schema, k.Producers, k.shadowHandler(), time.Hour, slog.New(slog.DiscardHandler))
	return s, nil
}

func (s *shadow) close() { s.db.Close() }

// create copies the shape of the live tables, and the pay rates with their rows. The copy
// is a transaction of its own, for a statement can only be sent once its table is there.
func (s *shadow) create(ctx context.Context) error {
	err := s.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		for _, t := range slices.Concat(tables, helpers) {
			_, _ = tx.Exec(ctx, fmt.Sprintf(`CREATE TEMP TABLE %s (LIKE %s.%s INCLUDING ALL)`, t, s.live, t)) // put off
		}
		return nil
	})
	if err != nil {
		return err
	}
	return s.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, fmt.Sprintf(`INSERT INTO pay_rate SELECT * FROM %s.pay_rate`, s.live))
		return err
	})
}

// replay books the whole log of a producer into the shadow and counts its events.
func (s *shadow) replay(ctx context.Context, producer eventsv1.EventLogServiceClient) (n int64, err error) {
	err = inbox.EachPage(ctx, producer, &eventsv1.ListEventsRequest{}, func(ctx context.Context, events []inbox.Event) error {
		n += int64(len(events))
		return s.inbox.Book(ctx, events)
	})
	return n, err
}

// position is how far one of the two sets of tables is in an aggregate.
type position struct {
	producer     string
	aggregate    id.ID
	live, shadow int64
}

// apart lists the aggregates in which live and shadow tables are not equally far.
func (s *shadow) apart(ctx context.Context) ([]position, error) {
	var out []position
	err := s.db.View(ctx, func(q pg.Querier) error {
		rows, err := q.Query(ctx, fmt.Sprintf(`
			SELECT producer, aggregate_id, coalesce(l.version, 0), coalesce(s.version, 0)
			FROM %s.applied l FULL JOIN applied s USING (producer, aggregate_id)
			WHERE coalesce(l.version, 0) <> coalesce(s.version, 0) ORDER BY producer, aggregate_id`, s.live))
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var p position
			if err := rows.Scan(&p.producer, &p.aggregate, &p.live, &p.shadow); err != nil {
				return err
			}
			out = append(out, p)
		}
		return rows.Err()
	})
	return out, err
}

// follow brings the shadow, in each aggregate that is apart, up to the live tables' version.
func (s *shadow) follow(ctx context.Context, producers map[string]eventsv1.EventLogServiceClient) (n int64, err error) {
	apart, err := s.apart(ctx)
	if err != nil {
		return 0, err
	}
	for _, p := range apart {
		if p.shadow > p.live || producers[p.producer] == nil {
			continue
		}
		r := &eventsv1.ListEventsRequest{Aggregate: &eventsv1.Aggregate{Id: p.aggregate.String()}, AfterVersion: p.shadow}
		err := inbox.EachPage(ctx, producers[p.producer], r, func(ctx context.Context, events []inbox.Event) error {
			for len(events) > 0 && events[len(events)-1].Version > p.live {
				events = events[:len(events)-1]
			}
			n += int64(len(events))
			return s.inbox.Book(ctx, events)
		})
		if err != nil {
			return n, err
		}
	}
	return n, nil
}
