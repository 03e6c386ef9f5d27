package inbox

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"runtime/debug"
	"slices"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/planted"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// key is one aggregate of one producer.
type key struct {
	producer  string
	aggregate id.ID
}

func keyOf(e Event) key { return key{e.Producer, e.Aggregate} }

func compareKeys(a, b key) int {
	return cmp.Or(cmp.Compare(a.producer, b.producer), slices.Compare(a.aggregate[:], b.aggregate[:]))
}

// errUnknown refuses an event of a kind that a newer producer writes: dropping it would
// leave a hole that nobody sees.
var errUnknown = errors.New("this program is older than the event and does not know its kind")

// Apply applies, in tx, what is next in order among the events and what was parked
// behind them, parks what is early and drops repeats. It reports how many it parked. Nobody else
// may book meanwhile.
// The tables are those that the transaction's search path finds.
func Apply(ctx context.Context, tx *pg.Tx, h Handler, events []Event) (parked int, err error) {
	o, err := sorted(events).apply(ctx, tx, h, math.MaxInt)
	return len(o.early), err
}

// outcome is what became of a batch.
type outcome struct {
	ready   []Event // applied or refused together
	early   []Event // to be parked
	foreign []Event // of another epoch
}

// apply is Apply for at most that many events of each aggregate; it parks the others.
func (b batch) apply(ctx context.Context, tx *pg.Tx, h Handler, most int) (o outcome, err error) {
	now, err := b.standing(ctx, tx)
	if err != nil {
		return o, err
	}
	ours, foreign := b.vouched(now.epochs)
	var waiting map[key][]Event
	if now.parked && ours.moves(now.at) {
		if waiting, err = ours.waiting(ctx, tx); err != nil {
			return o, err
		}
	}
	o = ours.walk(now.at, waiting, most)
	o.foreign = foreign
	if err := hand(ctx, tx, h, o.ready); err != nil {
		return o, err
	}
	now.advance(ctx, tx, o.ready)
	return o, park(ctx, tx, o.early)
}

// hand gives the events to the handler. One that makes it panic must not take the whole
// consumer down, over and over.
func hand(ctx context.Context, tx *pg.Tx, h Handler, ready []Event) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = panicked{p, debug.Stack()}
		}
	}()
	for _, e := range ready {
		if e.Payload == nil {
			return errUnknown
		}
	}
	if len(ready) == 0 {
		return nil
	}
	return h.Apply(ctx, tx, ready)
}

// panicked is a handler's panic; the stack is for the log only.
type panicked struct {
	value any
	stack []byte
}

func (p panicked) Error() string { return fmt.Sprintf("panic: %v", p.value) }

// batch is events by aggregate, the aggregates in one order everywhere, so that what is done about
// them is the same whenever they come.
type batch struct {
	keys   []key
	events map[key][]Event
}

func sorted(events []Event) batch {
	b := batch{events: map[key][]Event{}}
	for _, e := range events {
		k := keyOf(e)
		if b.events[k] == nil {
			b.keys = append(b.keys, k)
		}
		b.events[k] = append(b.events[k], e)
	}
	slices.SortFunc(b.keys, compareKeys)
	return b
}

func (b batch) columns() (producers []string, aggregates []id.ID) {
	for _, k := range b.keys {
		producers, aggregates = append(producers, k.producer), append(aggregates, k.aggregate)
	}
	return producers, aggregates
}

// standing is where a batch's aggregates are before it.
type standing struct {
	at     map[key]int64     // the versions applied
	epochs map[string]string // of the logs of producers that were ever compared with
	parked bool              // something is parked, of whatever aggregate
	dead   bool              // a letter is open, whoever it is about
}

// standing reads it. Nothing is locked, for nobody else books meanwhile.
func (b batch) standing(ctx context.Context, tx *pg.Tx) (s standing, err error) {
	producers, aggregates := b.columns()
	rows, err := tx.Query(ctx, `
		SELECT p, a, coalesce(version, 0), coalesce(epoch, ''), EXISTS (SELECT FROM parked), EXISTS (SELECT FROM dead WHERE resolved_at IS NULL)
		FROM unnest($1::text[], $2::uuid[]) AS k (p, a)
		LEFT JOIN applied ON applied.producer = p AND aggregate_id = a
		LEFT JOIN source ON source.producer = p`, producers, aggregates)
	if err != nil {
		return s, err
	}
	s.at, s.epochs = make(map[key]int64, len(b.keys)), map[string]string{}
	var k key
	var version int64
	var epoch string
	_, err = pgx.ForEachRow(rows, []any{&k.producer, &k.aggregate, &version, &epoch, &s.parked, &s.dead}, func() error {
		s.at[k], s.epochs[k.producer] = version, epoch
		return nil
	})
	return s, err
}

// moves reports whether an aggregate may go on, so that what waits for it matters.
// Behind a refused event very much may wait.
func (b batch) moves(at map[key]int64) bool {
	for _, k := range b.keys {
		next := func(e Event) bool { return e.Version == at[k]+1 }
		if len(b.events[k]) == 0 || slices.ContainsFunc(b.events[k], next) {
			return true
		}
	}
	return false
}

// waiting reads the events parked for the aggregates.
func (b batch) waiting(ctx context.Context, tx *pg.Tx) (map[key][]Event, error) {
	producers, aggregates := b.columns()
	rows, err := tx.Query(ctx, `
		SELECT body FROM parked
		JOIN unnest($1::text[], $2::uuid[]) AS k (p, a) ON producer = p AND aggregate_id = a`, producers, aggregates)
	if err != nil {
		return nil, err
	}
	waiting := map[key][]Event{}
	var body []byte
	_, err = pgx.ForEachRow(rows, []any{&body}, func() error {
		env := &eventsv1.Envelope{}
		if err := proto.Unmarshal(body, env); err != nil {
			return fmt.Errorf("parked event: %w", err)
		}
		e, err := read(env, body)
		e.parked = true
		waiting[keyOf(e)] = append(waiting[keyOf(e)], e)
		return err
	})
	return waiting, err
}

// walk splits the events, together with those that wait, into what is next, at most that
// many of an aggregate, and what is early; it moves at along. What is older is a repeat.
func (b batch) walk(at map[key]int64, waiting map[key][]Event, most int) (o outcome) {
	for _, k := range b.keys {
		all := append(slices.Clone(b.events[k]), waiting[k]...)
		slices.SortStableFunc(all, func(a, b Event) int { return cmp.Compare(a.Version, b.Version) })
		left := most
		for _, e := range all {
			if planted.NoVersionCheck {
				at[k] = e.Version - 1
			}
			switch {
			case e.Version == at[k]+1 && left > 0:
				o.ready = append(o.ready, e)
				at[k]++
				left--
			case e.Version > at[k] && !e.parked:
				o.early = append(o.early, e)
			}
		}
	}
	return o
}

// advance writes the versions reached, and clears what waited for them or had been dead.
func (s standing) advance(ctx context.Context, tx *pg.Tx, ready []Event) {
	if len(ready) == 0 {
		return
	}
	var producers []string
	var aggregates []id.ID
	var versions []int64
	for i, e := range ready { // those of an aggregate stand together
		if k := keyOf(e); i == 0 || k != keyOf(ready[i-1]) {
			producers, aggregates, versions = append(producers, k.producer), append(aggregates, k.aggregate), append(versions, s.at[k])
		}
	}
	write := func(statement string) {
		_, _ = tx.Exec(ctx, statement, producers, aggregates, versions) // put off: its error comes at the commit
	}
	write(`INSERT INTO applied (producer, aggregate_id, version) SELECT p, a, v FROM unnest($1::text[], $2::uuid[], $3::bigint[]) AS k (p, a, v)
		ON CONFLICT (producer, aggregate_id) DO UPDATE SET version = excluded.version`)
	if s.parked {
		write(`DELETE FROM parked USING unnest($1::text[], $2::uuid[], $3::bigint[]) AS k (p, a, v)
			WHERE producer = p AND aggregate_id = a AND version <= v`)
	}
	if s.dead {
		write(`UPDATE dead SET resolved_at = now() FROM unnest($1::text[], $2::uuid[], $3::bigint[]) AS k (p, a, v)
			WHERE producer = p AND aggregate_id = a AND version BETWEEN 1 AND v AND resolved_at IS NULL`)
	}
}

func park(ctx context.Context, tx *pg.Tx, early []Event) error {
	for _, e := range early {
		body, err := e.encoded()
		if err != nil {
			return err
		}
		var piece *id.ID
		if e.Piece != id.Nil {
			piece = &e.Piece
		}
		_, _ = tx.Exec(ctx, `
			INSERT INTO parked (producer, aggregate_id, version, piece_id, body, since)
			VALUES ($1, $2, $3, $4, $5, now()) ON CONFLICT DO NOTHING`,
			e.Producer, e.Aggregate, e.Version, piece, body)
	}
	return nil
}
