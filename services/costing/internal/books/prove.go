package books

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// prove checks the live books against themselves. That a transaction which follows from one event
// is in balance has been seen where the shadow, whose every transaction was checked, has the same.
func (s *shadow) prove(ctx context.Context, live *pgx.Conn, f findings, r *Result) error {
	which := "group_kind <> ''"
	if f.in(posting) {
		which = "true"
	}
	for _, query := range append(s.recorded(),
		fmt.Sprintf(`SELECT format('transaction %%s is out of balance by %%s', tx_id, sum(amount)) FROM %s.posting WHERE %s GROUP BY tx_id HAVING sum(amount) <> 0`, s.live, which),
		fmt.Sprintf(sheets, s.live),
	) {
		if err := r.wrong(ctx, live, query); err != nil {
			return err
		}
	}
	return nil
}

// wrong counts what a query finds, and tells the first of it.
func (r *Result) wrong(ctx context.Context, q asker, query string) error {
	rows, err := q.Query(ctx, fmt.Sprintf(`WITH wrong (what) AS MATERIALIZED (%s) SELECT (SELECT count(*) FROM wrong), what FROM wrong LIMIT %d`, query, maxTold))
	if err != nil {
		return err
	}
	var all int64
	var what string
	_, err = pgx.ForEachRow(rows, []any{&all, &what}, func() error {
		r.add(what)
		return nil
	})
	r.Count += all
	return err
}

// sheets compares each piece's cost sheet with the sums of its ledger lines, and its cost with what
// stands in the accounts of what is in the shop.
var sheets = `
	WITH l AS MATERIALIZED (
		SELECT piece_id, ` + sumsOf + `, coalesce(sum(amount) FILTER (WHERE account IN ('work_in_process', 'rework', 'finished_goods')), 0) AS stands
		FROM %[1]s.posting WHERE piece_id IS NOT NULL GROUP BY piece_id)
	SELECT format('piece %%s: %%s in process or finished, of a cost of %%s', p.piece_id, l.stands, ` + costOf + `)
	FROM %[1]s.piece p JOIN l USING (piece_id)
	WHERE l.stands <> CASE WHEN p.scrapped OR p.sales_state = 'sold' THEN 0 ELSE ` + costOf + ` END
	UNION ALL
	SELECT format('piece %%s: the ledger and its cost sheet disagree, %%s and %%s', coalesce(p.piece_id, l.piece_id), ` + sheetOf("l") + `, ` + sheetOf("p") + `)
	FROM %[1]s.piece p FULL JOIN l USING (piece_id)
	WHERE ` + sheetOf("p") + ` IS DISTINCT FROM ` + sheetOf("l")

// sums are the lines of a cost sheet; what is earned is a credit.
var sums = []string{"acquisition", "labour", "premium", "burden", "overhead", "material", "outside", "rework", "fees", "revenue", "tax"}

// costOf adds up what was spent on a piece.
const costOf = `(p.acquisition + p.labour + p.premium + p.burden + p.overhead + p.material + p.outside + p.rework)`

// sumsOf adds ledger lines up to the lines of a cost sheet.
var sumsOf = columns(func(sum string) string {
	sign := ""
	if sum == "revenue" || sum == "tax" {
		sign = "-"
	}
	return fmt.Sprintf("coalesce(%ssum(amount) FILTER (WHERE bucket = '%s'), 0)::bigint AS %s", sign, sum, sum)
})

// sheetOf is the row of a cost sheet's lines, none being 0.
func sheetOf(table string) string {
	return "(" + columns(func(sum string) string { return fmt.Sprintf("coalesce(%s.%s, 0)", table, sum) }) + ")"
}

func columns(of func(sum string) string) string {
	all := make([]string, len(sums))
	for i, sum := range sums {
		all[i] = of(sum)
	}
	return strings.Join(all, ", ")
}
