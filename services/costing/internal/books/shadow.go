package books

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// What the sessions of a rebuild may take: time for a statement, and memory of the database.
const (
	patience    = 10 * time.Minute
	workMem     = "64MB"
	tempBuffers = "64MB"
)

// shadow is a second set of tables, in the temporary schema of one session, with an inbox
// of its own over the producers' logs. Its search path names nothing but that schema: if
// the session is lost, its statements fail rather than reach the live tables.
type shadow struct {
	db    *pg.DB
	inbox *inbox.Inbox
	live  string // schema of the live tables

	booking *beside
	later   *costing.Unsettled // by what the replay booked
	settled func()             // from then on everything is settled at once

	tables   []table
	rules    *costing.Rules
	currency money.Currency
}

func (k *Keeper) newShadow(ctx context.Context) (*shadow, error) {
	c := k.Config
	c.Schema, c.MaxConns = "pg_temp", 1
	c.StatementTimeout, c.LockTimeout = patience, lockPatience
	db, err := pg.OpenSession(ctx, c)
	if err != nil {
		return nil, err
	}
	s := &shadow{db: db, live: k.Config.Schema, rules: k.Rules, currency: k.Currency, later: costing.NewUnsettled()}
	if err := s.create(ctx); err != nil {
		db.Close()
		return nil, fmt.Errorf("make shadow tables: %w", err)
	}
	if err := s.own(ctx, k.Rules); err != nil {
		db.Close()
		return nil, fmt.Errorf("book costing's own records: %w", err)
	}
	s.booking = &beside{k.Handler(s.later)}
	s.settled = func() { s.booking.Handler = k.Handler(nil) }
	s.inbox = inbox.New(db, "shadow of "+k.Config.Schema, k.Producers, s.booking, time.Hour, slog.New(slog.DiscardHandler))
	return s, nil
}

// beside books events into a shadow, which is not worth mending when a producer is restored meanwhile.
type beside struct{ inbox.Handler }

// Restored implements inbox.Handler.
func (*beside) Restored(context.Context, string) error { return inbox.ErrRestored }

func (s *shadow) close() { s.db.Close() }

// know makes the indexes that only settling needs, and lets the database look at how its temporary
// tables have grown, which it does not by itself. Until then it is told to use their indexes.
func (s *shadow) know(ctx context.Context) error {
	statements := []string{`SET enable_seqscan = on`, `SET maintenance_work_mem = '` + workMem + `'`}
	for _, t := range s.tables {
		statements = append(statements, t.lateIndexes...)
		statements = append(statements, `ANALYZE `+t.name)
	}
	return s.do(ctx, statements...)
}

// create copies the shape of the live tables, and the records with their rows. The copy
// is a transaction of its own, for a statement can only be sent once its table is there.
func (s *shadow) create(ctx context.Context) error {
	err := s.do(ctx, `SET temp_buffers = '`+tempBuffers+`'`, `SET work_mem = '`+workMem+`'`, `SET jit = off`, `SET enable_seqscan = off`)
	if err != nil {
		return err
	}
	err = s.db.View(ctx, func(q pg.Querier) (err error) {
		s.tables, err = describe(ctx, q, s.live)
		return err
	})
	if err != nil {
		return err
	}
	var shapes, rows []string
	for _, t := range s.tables {
		shapes = append(shapes, fmt.Sprintf(`CREATE TEMP TABLE %[1]s (LIKE %[2]s.%[1]s INCLUDING ALL EXCLUDING INDEXES EXCLUDING CONSTRAINTS)`, t.name, s.live))
		for _, c := range t.drawn { // for numbers of the live table's own
			shapes = append(shapes, fmt.Sprintf(`ALTER TABLE pg_temp.%s ALTER COLUMN %s SET DEFAULT 0`, t.name, c))
		}
		shapes = append(shapes, t.indexes...)
	}
	for _, t := range slices.Concat(waiting, helpers, records) {
		shapes = append(shapes, fmt.Sprintf(`CREATE TEMP TABLE %[1]s (LIKE %[2]s.%[1]s INCLUDING ALL)`, t, s.live))
	}
	for _, t := range records {
		rows = append(rows, fmt.Sprintf(`INSERT INTO %[1]s SELECT * FROM %[2]s.%[1]s`, t, s.live))
	}
	if err := s.do(ctx, shapes...); err != nil {
		return err
	}
	return s.do(ctx, rows...)
}

// do runs statements, which need each other only to be planned, in a transaction.
func (s *shadow) do(ctx context.Context, statements ...string) error {
	return s.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		for _, stmt := range statements {
			_, _ = tx.Exec(ctx, stmt) // put off
		}
		return nil
	})
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

// follow brings the shadow, in each aggregate that is apart, up to the live tables' version, and
// counts the events.
func (s *shadow) follow(ctx context.Context, producers map[string]eventsv1.EventLogServiceClient, apart []position, r *Result) error {
	var held []inbox.Event
	for _, p := range apart {
		if p.shadow > p.live || producers[p.producer] == nil {
			continue
		}
		of := &eventsv1.ListEventsRequest{Aggregate: &eventsv1.Aggregate{Id: p.aggregate.String()}, AfterVersion: p.shadow}
		err := inbox.EachPage(ctx, producers[p.producer], of, func(ctx context.Context, events []inbox.Event) error {
			for len(events) > 0 && events[len(events)-1].Version > p.live {
				events = events[:len(events)-1]
			}
			if held = append(held, events...); len(held) < atOnce {
				return nil
			}
			defer func() { held = nil }()
			return s.book(ctx, held, r)
		})
		if err != nil {
			return err
		}
	}
	return s.book(ctx, held, r)
}

// atOnce is how many events of many aggregates are booked at once.
const atOnce = 1000

func (s *shadow) book(ctx context.Context, events []inbox.Event, r *Result) error {
	r.Events += int64(len(events))
	return s.inbox.Book(ctx, events)
}
