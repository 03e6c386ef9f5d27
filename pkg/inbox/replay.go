package inbox

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
)

// bulk is how many events a replay applies in one transaction, if there are as many; what it
// holds of the logs is little more than twice that.
const bulk = 4 * fetchPage

// Replay applies the whole logs of all producers to tables that are empty and that nobody else
// writes, and counts their events. What was written behind its back, and after it, Compare
// fetches. Fault: PRODUCER_RESTORED.
func (in *Inbox) Replay(ctx context.Context) (int64, error) {
	r := &replay{Inbox: in, at: map[key]int64{}, aside: map[key]bool{}, epochs: map[string]string{}}
	began := time.Now()
	err := EachPageOfAll(ctx, in.producers, r.take)
	if err == nil {
		err = r.flush(ctx)
	}
	if err == nil {
		err = r.finish(ctx, began)
	}
	return r.events, err
}

// replay is the application of whole logs. Where it is in each aggregate it keeps in memory and
// writes down at the end: that grows with pieces, not with events.
type replay struct {
	*Inbox
	at     map[key]int64
	aside  map[key]bool // something of the aggregate was refused, or was early, and waits in the tables
	epochs map[string]string
	held   []Event
	events int64
}

// ErrRestored is the fault PRODUCER_RESTORED, of whoever reads a log whose producer comes back from
// a backup meanwhile.
var ErrRestored = fault.New(fault.Unavailable, "PRODUCER_RESTORED", "A service came back from a backup while its record was being read; ask again.")

// take gathers pages until they are enough for a transaction.
func (r *replay) take(ctx context.Context, events []Event) error {
	for _, e := range events {
		if known, some := r.epochs[e.Producer]; some && e.log != known {
			return ErrRestored
		}
		r.epochs[e.Producer] = e.log
	}
	r.events += int64(len(events))
	r.held = append(r.held, events...)
	if len(r.held) < bulk {
		return nil
	}
	return r.flush(ctx)
}

// flush applies what was gathered, but through the tables, as a batch is applied that the broker
// brings, whatever is not simply the next, and all of it when it is refused together.
func (r *replay) flush(ctx context.Context) error {
	b := sorted(r.held)
	plain, odd := r.split(b)
	err := r.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return hand(ctx, tx, r.handler, plain.all()) })
	switch {
	case err == nil:
		for _, k := range plain.keys {
			r.at[k] += int64(len(plain.events[k]))
		}
	case passing(err):
		return err
	default:
		odd = b
	}
	clear(r.held)
	r.held = r.held[:0]
	return r.throughTables(ctx, odd)
}

// split tells the aggregates whose events are the next ones, one after the other, from all others.
func (r *replay) split(b batch) (plain, odd batch) {
	plain.events, odd.events = b.events, b.events
	for _, k := range b.keys {
		if r.aside[k] || !follow(b.events[k], r.at[k]) {
			odd.keys = append(odd.keys, k)
		} else {
			plain.keys = append(plain.keys, k)
		}
	}
	return plain, odd
}

// follow reports whether events have the versions after one, in their order.
func follow(events []Event, version int64) bool {
	for i, e := range events {
		if e.Version != version+int64(i)+1 {
			return false
		}
	}
	return true
}

// all lists the batch's events.
func (b batch) all() (events []Event) {
	for _, k := range b.keys {
		events = append(events, b.events[k]...)
	}
	return events
}

// throughTables lets the inbox book events: it parks what is early and puts aside what is refused.
func (r *replay) throughTables(ctx context.Context, b batch) error {
	if len(b.keys) == 0 {
		return nil
	}
	if err := r.write(ctx, b.keys); err != nil {
		return err
	}
	if err := r.Book(ctx, b.all()); err != nil {
		return err
	}
	return r.read(ctx, b)
}

// write notes in the tables where the replay is in aggregates.
func (r *replay) write(ctx context.Context, keys []key) error {
	producers, aggregates := batch{keys: keys}.columns()
	versions := make([]int64, len(keys))
	for i, k := range keys {
		versions[i] = r.at[k]
	}
	return r.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `
			INSERT INTO applied (producer, aggregate_id, version) SELECT p, a, v FROM unnest($1::text[], $2::uuid[], $3::bigint[]) AS k (p, a, v)
			ON CONFLICT (producer, aggregate_id) DO UPDATE SET version = excluded.version`, producers, aggregates, versions)
		return err
	})
}

// read finds out where the aggregates of a batch are now.
func (r *replay) read(ctx context.Context, b batch) error {
	producers, aggregates := b.columns()
	return r.db.View(ctx, func(q pg.Querier) error {
		rows, err := q.Query(ctx, `
			SELECT producer, aggregate_id, version FROM applied
			JOIN unnest($1::text[], $2::uuid[]) AS k (p, a) ON producer = p AND aggregate_id = a`, producers, aggregates)
		if err != nil {
			return err
		}
		var k key
		var version int64
		_, err = pgx.ForEachRow(rows, []any{&k.producer, &k.aggregate, &version}, func() error {
			r.at[k] = version
			last := b.events[k][len(b.events[k])-1].Version
			r.aside[k] = version < last
			return nil
		})
		return err
	})
}

// finish writes down where the replay has come to, and since when Compare must look.
func (r *replay) finish(ctx context.Context, began time.Time) error {
	var keys []key
	for k := range r.at {
		if keys = append(keys, k); len(keys) == bulk {
			if err := r.write(ctx, keys); err != nil {
				return err
			}
			keys = keys[:0]
		}
	}
	if err := r.write(ctx, keys); err != nil {
		return err
	}
	r.comparing.Lock()
	defer r.comparing.Unlock()
	for producer, epoch := range r.epochs {
		r.compared[producer] = began
		if err := r.noteComparison(ctx, producer, epoch, 0, began); err != nil {
			return err
		}
	}
	return nil
}
