package outbox

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// A feed gives a reader every committed event once and leaves none out, and writes nothing,
// not even who has read what: a reader is where its Position says.
//
// Ids are drawn in order and committed in any: with 7 there, 6 may still come, or never,
// when its transaction was rolled back or the database broke down. A reader does not wait
// for 6. It goes on and keeps 6 as a hole, and asks for it by name each time it reads:
//
//	seen   1 2 3 4 5 _ 7          high 7, hole 6
//	then   1 2 3 4 5 _ 7 8 9      high 9, hole 6
//	then   1 2 3 4 5 6 7 8 9      6 was committed: it is given after 9
//
// When is a hole given up? Append makes the transaction have its own id, an xid, before it
// draws an event's. So at the moment at which 7 was seen and 6 was not, whoever drew 6 had
// an xid, and it lay below the next one to be given out, until. All xids below the xmin of
// a snapshot are over in it: what they committed is visible in it, and the others never
// will be. A hole that is not filled in a snapshot whose xmin has come to until is therefore
// none. The xmax of the snapshot that missed it would not do for until: it is only one above
// the last transaction that is over, and others that run may have higher xids.
//
// An event of an aggregate is written under the lock of the aggregate's row, after the one
// before it was committed. So where a version is visible, those before it are too, and have
// lower ids: events of one aggregate are given in the order of their versions.

// Noted is an event of a feed, and where a reader is who has been given it.
type Noted struct {
	ID    int64
	Event *eventsv1.Envelope
	After Position
}

// Batch is what a reader is given at once.
type Batch struct {
	Events []Noted
	Now    Position // where the reader is then: further than after the last event, it may be
	More   bool     // there may be more already, though not always for who has come no further
}

// After reads up to limit events that a reader at a position has not been given, in the order
// of their ids, and a few more where holes have been filled.
func (l *Log) After(ctx context.Context, p Position, limit int) (b Batch, err error) {
	err = l.db.View(ctx, func(q pg.Querier) error {
		w, err := look(ctx, q, p, limit)
		if err != nil {
			return err
		}
		b, err = w.batch()
		return err
	})
	return b, err
}

// look reads in one statement, and so in one snapshot, what the reader has missed and what
// the snapshot tells of transactions. age counts from the next xid to be given out, which
// is read after the snapshot was taken.
func look(ctx context.Context, q pg.Querier, p Position, limit int) (*walk, error) {
	missed := make([]int64, len(p.holes))
	for i, h := range p.holes {
		missed[i] = h.id
	}
	rows, err := q.Query(ctx, `
		SELECT pg_snapshot_xmin(s)::text::bigint, pg_snapshot_xmax(s)::text::bigint + age(pg_snapshot_xmax(s)::xid), e.id, e.body
		FROM pg_current_snapshot() AS s LEFT JOIN (
			SELECT id, body FROM event WHERE id = ANY ($2)
			UNION ALL
			(SELECT id, body FROM event WHERE id > $1 ORDER BY id LIMIT $3)) AS e ON true
		ORDER BY e.id`, p.high, missed, limit)
	if err != nil {
		return nil, err
	}
	w := &walk{at: p, limit: limit}
	return w, w.scan(rows)
}

// walk is a reader on its way through what one snapshot shows.
type walk struct {
	at    Position
	limit int
	xmin  int64 // all transactions below it are over
	until int64 // all transactions that have drawn an id are below it
	rows  []row
	cut   bool // rows were left in the database, for they would have been too many bytes
}

type row struct {
	id   int64
	body []byte
}

// scan reads rows until there are none, or they are as many bytes as fit into a page.
func (w *walk) scan(rows pgx.Rows) error {
	defer rows.Close()
	for bytes := 0; rows.Next() && !w.cut; {
		var i *int64
		var body []byte
		if err := rows.Scan(&w.xmin, &w.until, &i, &body); err != nil {
			return err
		}
		if i == nil {
			continue // nothing new, and only the snapshot was told
		}
		w.rows = append(w.rows, row{*i, body})
		bytes += len(body)
		w.cut = bytes >= pageBytes
	}
	return rows.Err()
}

// batch goes through the rows.
func (w *walk) batch() (b Batch, err error) {
	above := w.at.high
	w.giveUp()
	for _, r := range w.rows {
		if !w.reach(r.id) {
			b.Now, b.More = w.at, true
			return b, nil
		}
		env := &eventsv1.Envelope{}
		if err := proto.Unmarshal(r.body, env); err != nil {
			return b, fmt.Errorf("event %d of the log: %w", r.id, err)
		}
		b.Events = append(b.Events, Noted{r.id, env, w.at})
	}
	fresh := len(w.rows) - w.index(above+1)
	b.Now, b.More = w.at, w.cut || fresh >= w.limit
	return b, nil
}

// index is the place of the first row from an id on.
func (w *walk) index(from int64) int {
	i, _ := slices.BinarySearchFunc(w.rows, from, func(r row, id int64) int { return cmp.Compare(r.id, id) })
	return i
}

// giveUp drops the holes that nothing will come to fill. Of rows that were left in the
// database it is not known whether they fill any.
func (w *walk) giveUp() {
	known := int64(math.MaxInt64)
	if w.cut {
		known = w.rows[len(w.rows)-1].id
	}
	w.at.holes = slices.DeleteFunc(slices.Clone(w.at.holes), func(h hole) bool {
		at := w.index(h.id)
		there := at < len(w.rows) && w.rows[at].id == h.id
		return h.until <= w.xmin && h.id < known && !there
	})
}

// reach goes on to an id: it fills the hole that was left for it, or leaves holes for the
// ids before it that are not there. It reports false where these become too many.
func (w *walk) reach(id int64) bool {
	if id <= w.at.high {
		w.at = w.at.filled(id)
		return true
	}
	if w.xmin < w.until { // else nobody writes, and what is not there never will be
		holes := slices.Clone(w.at.holes)
		for i := w.at.high + 1; i < id; i++ {
			if len(holes) == mostHoles {
				w.at = Position{i - 1, holes}
				return false
			}
			holes = append(holes, hole{i, w.until})
		}
		w.at.holes = holes
	}
	w.at.high = id
	return true
}

// Now is the position of a reader who has been given all events that are visible in a read
// transaction. What was read in a Snapshot before it, the feed goes on from without a gap.
//
// Of the ids that are not there only the last 1,000 are taken for holes. An event is written
// at the end of its command, whose transaction is over within seconds or is ended by the
// database's timeouts; a shop draws one or two ids a command.
func (l *Log) Now(ctx context.Context, q pg.Querier) (p Position, err error) {
	var xmin, until int64
	var missing []int64
	err = q.QueryRow(ctx, `
		SELECT pg_snapshot_xmin(s)::text::bigint, pg_snapshot_xmax(s)::text::bigint + age(pg_snapshot_xmax(s)::xid), high,
			ARRAY (SELECT i FROM generate_series(greatest(high - $1, 1), high) AS i WHERE NOT EXISTS (SELECT FROM event WHERE id = i) ORDER BY i)
		FROM pg_current_snapshot() AS s, (SELECT coalesce(max(id), 0) AS high FROM event) AS e`, mostHoles).Scan(&xmin, &until, &p.high, &missing)
	if xmin < until {
		for _, i := range missing {
			p.holes = append(p.holes, hole{i, until})
		}
	}
	return p, err
}

// Resume reads a position that Token wrote. Fault: POSITION_UNKNOWN, when it is malformed, of
// another epoch or beyond the log.
func (l *Log) Resume(ctx context.Context, text string) (p Position, err error) {
	if p, err = l.parse(text); err != nil {
		return p, err
	}
	var high int64
	err = l.db.View(ctx, func(q pg.Querier) error {
		return q.QueryRow(ctx, `SELECT coalesce(max(id), 0) FROM event`).Scan(&high)
	})
	if err == nil && p.high > high {
		return p, unknown()
	}
	return p, err
}

// Present reads Now by itself.
func (l *Log) Present(ctx context.Context) (p Position, err error) {
	err = l.db.View(ctx, func(q pg.Querier) error {
		p, err = l.Now(ctx, q)
		return err
	})
	return p, err
}

// Of reads up to limit events of one aggregate after a version, by version, and whether
// there may be more of them.
func (l *Log) Of(ctx context.Context, q pg.Querier, aggregate id.ID, version int64, limit int) (events []*eventsv1.Envelope, more bool, err error) {
	rows, err := eventsOf(ctx, q, aggregate, version, limit)
	if err != nil {
		return nil, false, err
	}
	events, next, err := decodedPage(rows, limit)
	return events, next != "", err
}
