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
		fmt.Sprintf(`SELECT format('transaction %%s is out of balance by %%s', tx_id, %s) FROM %s.posting WHERE %s GROUP BY tx_id HAVING sum(amount) <> 0`, s.written("sum(amount)"), s.live, which),
		s.sheets(),
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

// sheets compares each piece's cost sheet with the sums of its ledger lines, line by line, and its cost with what
// stands in the accounts of what is in the shop.
func (s *shadow) sheets() string {
	return fmt.Sprintf(`
	WITH l AS MATERIALIZED (
		SELECT piece_id, %[2]s, coalesce(sum(amount) FILTER (WHERE account IN ('work_in_process', 'rework', 'finished_goods')), 0) AS stands
		FROM %[1]s.posting WHERE piece_id IS NOT NULL GROUP BY piece_id)
	SELECT format('piece %%s: %%s in process or finished, of a cost of %%s', p.tag, %[4]s, %[5]s)
	FROM %[1]s.piece p JOIN l USING (piece_id)
	WHERE l.stands <> CASE WHEN p.scrapped OR p.sales_state = 'sold' THEN 0 ELSE %[3]s END
	UNION ALL
	SELECT format('piece %%s, %%s: %%s on its cost sheet, %%s by its ledger lines', coalesce(p.tag::text, l.piece_id::text), e.line, %[6]s, %[7]s)
	FROM %[1]s.piece p FULL JOIN l USING (piece_id) CROSS JOIN LATERAL (VALUES %[8]s) AS e (line, sheet, lines)
	WHERE e.sheet <> e.lines`, s.live, sumsOf, costOf, s.written("l.stands"), s.written(costOf), s.written("e.sheet"), s.written("e.lines"), bothOf("p", "l"))
}

// written is an amount of the database as people write it.
func (s *shadow) written(amount string) string {
	return fmt.Sprintf("round(%[1]s * 1e-%[2]d, %[2]d)", amount, s.currency.Digits)
}

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

// bothOf are the lines of a cost sheet by their names, as two tables have them, none being 0.
func bothOf(sheet, lines string) string {
	return columns(func(sum string) string {
		return fmt.Sprintf("('%[1]s', coalesce(%[2]s.%[1]s, 0), coalesce(%[3]s.%[1]s, 0))", sum, sheet, lines)
	})
}

func columns(of func(sum string) string) string {
	all := make([]string, len(sums))
	for i, sum := range sums {
		all[i] = of(sum)
	}
	return strings.Join(all, ", ")
}
