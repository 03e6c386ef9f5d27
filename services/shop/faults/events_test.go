package faults_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/proto"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/shop/internal/client"
)

// noted is an event as its producer keeps it.
type noted struct {
	*eventsv1.Envelope
	id     int64  // in its producer's log
	states string // its kind
	body   []byte
}

// eachProducer writes a query once for each producer and joins them; %[1]s is the name.
func eachProducer(query string) string {
	var all []string
	for _, name := range client.Producers {
		all = append(all, fmt.Sprintf(query, name))
	}
	return strings.Join(all, " UNION ALL ")
}

// events reads what all producers keep, each producer's in order, above an id of each.
func (d *database) events(t testing.TB, above map[string]int64) (all []noted) {
	t.Helper()
	for _, name := range client.Producers {
		n := noted{}
		d.ask(t, "events of "+name, func(ctx context.Context, conn *pgx.Conn) error {
			rows, err := conn.Query(ctx, `SELECT id, type, body FROM `+name+`.event WHERE id > $1 ORDER BY id`, above[name])
			if err != nil {
				return err
			}
			_, err = pgx.ForEachRow(rows, []any{&n.id, &n.states, &n.body}, func() error {
				n.Envelope = &eventsv1.Envelope{}
				all = append(all, n)
				err := proto.Unmarshal(n.body, n.Envelope)
				n.body = nil // the next row gets memory of its own
				return err
			})
			return err
		})
	}
	return all
}

// lag is how far everybody is behind the producers.
type lag struct {
	unsent, behind, parked, dead int64
}

func (l lag) String() string {
	return fmt.Sprintf("%d events not sent, the books behind in %d things, %d events parked, %d dead", l.unsent, l.behind, l.parked, l.dead)
}

// lag asks the tables of the plumbing.
func (d *database) lag(t testing.TB) (l lag) {
	t.Helper()
	d.row(t, `SELECT
		(SELECT sum(n)::bigint FROM (`+eachProducer(`SELECT count(*) FILTER (WHERE published_at IS NULL) AS n FROM %[1]s.event`)+`) AS u),
		(SELECT count(*) FROM (`+eachProducer(`SELECT '%[1]s' AS p, aggregate_id AS a, max(version) AS v FROM %[1]s.event GROUP BY aggregate_id`)+`) AS h
		 LEFT JOIN costing.applied ON producer = p AND aggregate_id = a WHERE v > coalesce(version, 0)),
		(SELECT count(*) FROM costing.parked) + (SELECT count(*) FROM materials.parked),
		(SELECT count(*) FROM costing.dead WHERE resolved_at IS NULL) + (SELECT count(*) FROM materials.dead WHERE resolved_at IS NULL)`,
		nil, &l.unsent, &l.behind, &l.parked, &l.dead)
	return l
}
