package books

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/pg"
)

// maxTold bounds the differences told in words; all are counted.
const maxTold = 100

// compare compares every row of the live books, which nobody writes now, with the shadow's, and the
// live books with themselves. Which rows differ is left in temporary tables: gone_x are the keys of
// those that only the live table x has, come_x of those that only the shadow has, and other_group the
// groups that come to something else or came to it by a transaction that is out of balance.
func (s *shadow) compare(ctx context.Context, live *pgx.Conn, r *Result) (f findings, err error) {
	theirs, ours, err := s.prints(ctx, live)
	if err != nil {
		return f, err
	}
	f = s.findings(theirs, ours)
	for _, t := range f.tables {
		if err := s.tell(ctx, t, f.parts[t.name], r); err != nil {
			return f, err
		}
	}
	if err := s.tellGroups(ctx, f, r); err != nil {
		return f, err
	}
	if err := s.count(ctx, r); err != nil {
		return f, err
	}
	return f, s.prove(ctx, live, f, r)
}

// count counts the lines of the recomputed ledger.
func (s *shadow) count(ctx context.Context, r *Result) error {
	return s.db.View(ctx, func(q pg.Querier) error { return q.QueryRow(ctx, `SELECT count(*) FROM posting`).Scan(&r.Lines) })
}

// tell finds the rows of a table that differ.
func (s *shadow) tell(ctx context.Context, t table, apart []int, r *Result) error {
	only := func(name, schema, other string) string {
		return fmt.Sprintf(`CREATE TEMP TABLE %s AS SELECT %s FROM %s AS r WHERE (r.hash & %d)::integer = ANY (ARRAY[%s])
			AND NOT EXISTS (SELECT FROM %s AS o WHERE %s AND o.hash = r.hash)`,
			name, t.keys(), t.rows(schema), parts-1, list(apart), t.rows(other), t.same("o", "r"))
	}
	for _, stmt := range []string{only("gone_"+t.name, s.live, "pg_temp"), only("come_"+t.name, "pg_temp", s.live), `ANALYZE gone_` + t.name, `ANALYZE come_` + t.name} {
		if err := s.do(ctx, stmt); err != nil {
			return err
		}
	}
	before := r.Count
	err := s.db.View(ctx, func(q pg.Querier) error {
		if t.name == posting {
			return s.tellLines(ctx, q, t, r)
		}
		return r.note(ctx, q, fmt.Sprintf(`SELECT count(*) FROM (%s) AS k`, t.apart()), t.both(s.live), s.row(t))
	})
	if err == nil && r.Count == before { // their keys are unique on one side only: the shadow booked something twice
		r.Count++
		r.add("the same rows, but not as often, in " + t.name)
	}
	return err
}

// side is one of the two, and which rows only it has.
type side struct {
	says, others  string // where they are, and how it begins what the other side has otherwise
	keys          string
	schema, other string
}

// tellLines tells the ledger lines that only one side has, of each side; of one that both have otherwise there are two.
func (s *shadow) tellLines(ctx context.Context, q pg.Querier, t table, r *Result) error {
	for _, on := range []side{{inBooks, "the events give it", "gone_", s.live, "pg_temp"}, {byEvents, "the books have", "come_", "pg_temp", s.live}} {
		if err := r.note(ctx, q, fmt.Sprintf(`SELECT count(*) FROM %s%s`, on.keys, t.name), on.lines(t), s.line(on)); err != nil {
			return err
		}
	}
	return nil
}

// first is the subquery of as many of its keys as are told: that they are few is for the database to
// know, for the shadow has no index by some keys.
func (on side) first(t table) string {
	return fmt.Sprintf(`(SELECT * FROM %s%s ORDER BY %s LIMIT %d)`, on.keys, t.name, t.keys(), maxTold)
}

// tellGroups finds the groups that come to something else. One that comes to the same by a transaction
// which is out of balance is told of by prove, and put in place with them.
func (s *shadow) tellGroups(ctx context.Context, f findings, r *Result) error {
	some := `WHERE false`
	if f.in(ofGroups) {
		some = fmt.Sprintf(`WHERE %s = ANY (ARRAY[%s])`, groupPart, list(f.parts[ofGroups]))
	}
	only := func(says, schema, other string) string {
		return fmt.Sprintf(`SELECT '%s'::text AS side, d.* FROM (SELECT * FROM %s AS n %s EXCEPT ALL SELECT * FROM %s AS n %s) AS d`, says, s.net(schema), some, s.net(other), some)
	}
	for _, stmt := range []string{ // each by itself, for it can only be sent once its table is there
		`CREATE TEMP TABLE other_line AS ` + only(inBooks, s.live, "pg_temp") + ` UNION ALL ` + only(byEvents, "pg_temp", s.live),
		`CREATE TEMP TABLE other_group AS SELECT group_kind, group_id FROM other_line UNION ` + crooked(s.live),
	} {
		if err := s.do(ctx, stmt); err != nil {
			return err
		}
	}
	return s.db.View(ctx, func(q pg.Querier) error {
		return r.note(ctx, q, `SELECT count(*) FROM other_line`,
			fmt.Sprintf(`SELECT side, group_kind, group_id, account, amount::bigint, occurred_at FROM other_line ORDER BY group_id, occurred_at, side LIMIT %d`, maxTold), s.groupLine)
	})
}

// crooked is the query of groups that have a transaction out of balance, in a schema.
func crooked(schema string) string {
	return fmt.Sprintf(`SELECT group_kind, group_id FROM %s.posting WHERE group_kind <> '' GROUP BY tx_id, group_kind, group_id HAVING sum(amount) <> 0`, schema)
}

func list(all []int) string {
	return strings.Trim(strings.Join(strings.Fields(fmt.Sprint(all)), ","), "[]")
}

// note counts differences and tells the first of them.
func (r *Result) note(ctx context.Context, q pg.Querier, count, first string, say func(pgx.CollectableRow) (string, error)) error {
	var n int64
	if err := q.QueryRow(ctx, count).Scan(&n); err != nil {
		return err
	}
	r.Count += n
	rows, err := q.Query(ctx, first)
	if err != nil {
		return err
	}
	told, err := pgx.CollectRows(rows, say)
	for _, what := range told {
		r.add(what)
	}
	return err
}

// add tells a difference, unless enough are told.
func (r *Result) add(what string) {
	if len(r.Differences) < maxTold {
		r.Differences = append(r.Differences, what)
	}
}
