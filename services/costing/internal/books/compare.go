package books

import (
	"context"
	"fmt"

	"tackfree/pkg/pg"
)

// maxTold bounds the differences told in words; all are counted.
const maxTold = 100

// A check is a query that gives one line of text for each thing that is wrong. %[1]s is
// the schema of the live tables; the shadow's are found without a schema.
type check struct{ query string }

// differ compares two tables row by row over some columns, both ways, where a condition
// holds.
func differ(table, columns, where string) check {
	return check{fmt.Sprintf(`
		SELECT 'live only, in %[1]s: ' || r::text FROM (
			SELECT %[2]s FROM %%[1]s.%[1]s WHERE %[3]s EXCEPT ALL SELECT %[2]s FROM pg_temp.%[1]s WHERE %[3]s) AS r
		UNION ALL
		SELECT 'recomputed only, in %[1]s: ' || r::text FROM (
			SELECT %[2]s FROM pg_temp.%[1]s WHERE %[3]s EXCEPT ALL SELECT %[2]s FROM %%[1]s.%[1]s WHERE %[3]s) AS r`,
		table, columns, where)}
}

var checks = []check{
	// A version of 0 only says that something waits for the first one.
	differ("applied", "producer, aggregate_id, version", "version > 0"),
	differ("posting", "tx_id, line, event_id, account, bucket, piece_id, person_id, stage_id, stage_kind, amount, occurred_at, recorded_at", "true"),
	differ("stretch", "event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework, indirect, started_at, ended_at, whole_from, occurred_at, recorded_at", "true"),
	differ("clock", "entry_id, piece_id, person_id, person_name, started_at", "true"),
	differ("outside_work", "outside_work_id, piece_id, kind, firm, quoted, unbilled", "true"),
	differ("review", "review_id, person_id, person_name, since", "true"),
	differ("mark", "event_id, piece_id, kind, occurred_at, recorded_at", "true"),
	differ("person", "person_id, name, version", "true"),
	// How often a sheet changed, and when last, is the story of the live books alone.
	differ("piece", "piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, outside, rework, fees, revenue, tax, labour_ms, rework_ms, running", "true"),
	{`SELECT format('transaction %%s is out of balance by %%s', tx_id, sum(amount)) FROM %[1]s.posting GROUP BY tx_id HAVING sum(amount) <> 0`},
	{`SELECT format('piece %%s: %%s in work in process, of a cost of %%s', p.piece_id, l.amount, p.acquisition + p.labour + p.material + p.outside + p.rework)
	  FROM %[1]s.piece p JOIN (
		SELECT piece_id, sum(amount) AS amount FROM %[1]s.posting WHERE account = 'work_in_process' GROUP BY piece_id) AS l USING (piece_id)
	  WHERE l.amount <> CASE WHEN p.scrapped OR p.sales_state = 'sold' THEN 0 ELSE p.acquisition + p.labour + p.material + p.outside + p.rework END`},
	{`SELECT format('piece %%s: the ledger and its cost sheet disagree', coalesce(p.piece_id, l.piece_id))
	  FROM %[1]s.piece p FULL JOIN (
		SELECT piece_id,
		       coalesce(sum(amount) FILTER (WHERE bucket = 'acquisition'), 0) AS acquisition, coalesce(sum(amount) FILTER (WHERE bucket = 'labour'), 0) AS labour,
		       coalesce(sum(amount) FILTER (WHERE bucket = 'material'), 0) AS material, coalesce(sum(amount) FILTER (WHERE bucket = 'rework'), 0) AS rework,
		       coalesce(sum(amount) FILTER (WHERE bucket = 'outside'), 0) AS outside,
		       coalesce(sum(amount) FILTER (WHERE bucket = 'fees'), 0) AS fees, coalesce(-sum(amount) FILTER (WHERE bucket = 'revenue'), 0) AS revenue,
		       coalesce(-sum(amount) FILTER (WHERE bucket = 'tax'), 0) AS tax
		FROM %[1]s.posting WHERE piece_id IS NOT NULL GROUP BY piece_id) AS l USING (piece_id)
	  WHERE (coalesce(p.acquisition, 0), coalesce(p.labour, 0), coalesce(p.material, 0), coalesce(p.outside, 0), coalesce(p.rework, 0), coalesce(p.fees, 0), coalesce(p.revenue, 0), coalesce(p.tax, 0))
	     IS DISTINCT FROM
	        (coalesce(l.acquisition, 0), coalesce(l.labour, 0), coalesce(l.material, 0), coalesce(l.outside, 0), coalesce(l.rework, 0), coalesce(l.fees, 0), coalesce(l.revenue, 0), coalesce(l.tax, 0))`},
}

// compare runs all checks and counts the recomputed ledger.
func (s *shadow) compare(ctx context.Context, r *Result) error {
	return s.db.View(ctx, func(q pg.Querier) error {
		if err := q.QueryRow(ctx, `SELECT count(*) FROM posting`).Scan(&r.Lines); err != nil {
			return err
		}
		for _, c := range checks {
			if err := s.run(ctx, q, c, r); err != nil {
				return err
			}
		}
		return nil
	})
}

func (s *shadow) run(ctx context.Context, q pg.Querier, c check, r *Result) error {
	rows, err := q.Query(ctx, fmt.Sprintf(c.query, s.live))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return err
		}
		if r.Count++; len(r.Differences) < maxTold {
			r.Differences = append(r.Differences, text)
		}
	}
	return rows.Err()
}
