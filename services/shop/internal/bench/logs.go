package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	pgxuuid "github.com/vgarvardt/pgx-google-uuid/v5"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
)

// copied events are held at once.
const copied = 10_000

// archive writes years into the logs of the producers, where consumers read what they never
// heard of. Nothing is sent to a broker.
type archive struct {
	conn    *pgx.Conn
	years   years
	written int
}

// openArchive connects, to a database whose services have started, and sets what the shop pays: for the
// hour alone, or all that is reckoned with hours.
func openArchive(ctx context.Context, adminURL string, payAlone bool) (*archive, error) {
	conn, err := pgx.Connect(ctx, adminURL)
	if err != nil {
		return nil, err
	}
	pgxuuid.Register(conn.TypeMap())
	a := &archive{conn: conn}
	// An event's version is checked against the one before by a trigger, one by one; these are right.
	if _, err := conn.Exec(ctx, `SET session_replication_role = replica`); err != nil {
		a.close()
		return nil, err
	}
	if err := a.pay(ctx, payAlone); err != nil {
		a.close()
		return nil, err
	}
	return a, nil
}

func (a *archive) close() { _ = a.conn.Close(context.Background()) }

// pay sets rates that rise every year and, unless it is pay alone, what the employer pays on top, overhead
// by the labour hour and overtime by the week; all of it a month before it holds.
func (a *archive) pay(ctx context.Context, alone bool) error {
	before := opening.AddDate(0, -1, 0)
	b := &pgx.Batch{}
	for n := range helpers {
		for year := range yearsOfPay {
			from := opening.AddDate(0, 0, 7*yearOfPay*year)
			b.Queue(`INSERT INTO costing.pay_rate (id, person_id, effective_day, effective_at, per_hour, actor, recorded_at)
				VALUES ($1, $2, $3::timestamptz::date, $3, $4, 'bench', $5)`, id.New(), number(1, n), from, int64(2_000+50*year+n), from.AddDate(0, -1, 0))
		}
	}
	if !alone {
		b.Queue(`INSERT INTO costing.burden (id, effective_day, effective_at, share, actor, recorded_at) VALUES ($1, $2::timestamptz::date, $2, 110000, 'bench', $3)`,
			id.New(), opening, before)
		b.Queue(`INSERT INTO costing.overhead_rate (id, department, stage_kinds, basis, per_hour, effective_day, effective_at, actor, recorded_at)
			VALUES ($1, '', '{}', 'labour_hour', 950, $2::timestamptz::date, $2, 'bench', $3)`, id.New(), opening, before)
		b.Queue(`INSERT INTO costing.pay_rule (id, week, weekly_after_ms, daily_after_ms, overtime_percent, paid_break_ms, round_to_ms, to_overhead, actor, recorded_at)
			VALUES ($1, $2::timestamptz::date, $3, 0, 50, 0, 0, false, 'bench', $4)`, id.New(), opening, overtimeAfter.Milliseconds(), before)
	}
	if err := a.conn.SendBatch(ctx, b).Close(); err != nil {
		return fmt.Errorf("set what the shop pays: %w", err)
	}
	return nil
}

// upTo writes until that many events are written in all.
func (a *archive) upTo(ctx context.Context, events int) error {
	for a.written < events {
		of := map[string][][]any{}
		for range min(copied, events-a.written) {
			m := a.years.next()
			row, err := eventRow(m)
			if err != nil {
				return err
			}
			of[m.Producer] = append(of[m.Producer], row)
			a.written++
		}
		for producer, rows := range of {
			if _, err := a.conn.CopyFrom(ctx, pgx.Identifier{producer, "event"}, eventColumns, pgx.CopyFromRows(rows)); err != nil {
				return fmt.Errorf("fill the log of %s: %w", producer, err)
			}
		}
	}
	for _, producer := range []string{"intake", "workflow", "materials", "sales"} {
		if _, err := a.conn.Exec(ctx, `ANALYZE `+pgx.Identifier{producer, "event"}.Sanitize()); err != nil {
			return err
		}
	}
	return nil
}

var eventColumns = []string{"event_id", "aggregate_kind", "aggregate_id", "version", "piece_id", "type", "body", "recorded_at", "published_at"}

// eventRow is an event as its producer keeps it, long since sent.
func eventRow(m bus.Message) ([]any, error) {
	event, err := id.Parse(m.EventID)
	if err != nil {
		return nil, err
	}
	aggregate, err := id.Parse(m.Aggregate)
	if err != nil {
		return nil, err
	}
	kind, piece := "piece", &aggregate
	if m.Piece == "" {
		kind, piece = "person", nil
	}
	return []any{event, kind, aggregate, m.Version, piece, m.Type, m.Body, opening, opening}, nil
}

// caughtUp waits until costing has booked everything that the archive holds, and gives the time
// that took.
func (a *archive) caughtUp(ctx context.Context) (time.Duration, error) {
	began, moved := time.Now(), time.Now()
	var last int64
	for {
		var n int64
		if err := a.conn.QueryRow(ctx, `SELECT coalesce(sum(version), 0)::bigint FROM costing.applied`).Scan(&n); err != nil {
			return 0, err
		}
		if n > last {
			last, moved = n, time.Now()
		}
		switch {
		case n >= int64(a.written):
			return time.Since(began), nil
		case time.Since(moved) > standstill:
			return 0, fmt.Errorf("costing stands still after %d of %d events", n, a.written)
		}
		time.Sleep(50 * time.Millisecond) // polling the other side of the measurement
	}
}
