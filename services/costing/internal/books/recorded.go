package books

import "fmt"

// recorded checks what closes of months and of the payroll have counted, which no event tells and no
// rebuild mends. That the ledger has what closes have settled is compared row by row: the shadow posts it
// from their records.
func (s *shadow) recorded() (queries []string) {
	for _, query := range []string{counted, countedByDay, dayInBalance, shared, paid} {
		queries = append(queries, fmt.Sprintf(query, s.live))
	}
	return queries
}

const (
	// What a close has counted adds up to zero, and so does what of that is late.
	counted = `
	SELECT format('the close of %%s counts what is out of balance by %%s, and of it late what is by %%s', to_char(c.month, 'YYYY-MM'), sum(b.amount), sum(b.late))
	FROM %[1]s.month_balance b JOIN %[1]s.month_close c ON c.id = b.close_id GROUP BY c.id, c.month HAVING sum(b.amount) <> 0 OR sum(b.late) <> 0`

	// It is what is late and what is of its days.
	countedByDay = `
	WITH d AS (SELECT close_id, account, sum(amount) AS amount FROM %[1]s.month_day GROUP BY close_id, account)
	SELECT format('the close of %%s counts %%s of %%s, late %%s of it, and its days come to %%s', to_char(c.month, 'YYYY-MM'), coalesce(b.amount, 0), account, coalesce(b.late, 0), coalesce(d.amount, 0))
	FROM %[1]s.month_balance b FULL JOIN d USING (close_id, account) JOIN %[1]s.month_close c ON c.id = close_id
	WHERE coalesce(b.amount, 0) <> coalesce(b.late, 0) + coalesce(d.amount, 0)`

	// Each of the days adds up to zero, and is one that the close counts.
	dayInBalance = `
	SELECT format('the close of %%s counts %%s, which is out of balance by %%s', to_char(c.month, 'YYYY-MM'), d.day, sum(d.amount))
	FROM %[1]s.month_day d JOIN %[1]s.month_close c ON c.id = d.close_id GROUP BY c.id, c.month, d.day
	HAVING sum(d.amount) <> 0 OR d.day < c.since OR d.day >= c.month + interval '1 month'`

	// What pieces were given is all that there was to share.
	shared = `
	SELECT format('the close of %%s shares out %%s of %%s', to_char(c.month, 'YYYY-MM'), coalesce(sum(s.amount), 0), c.actual + CASE WHEN c.with_indirect THEN c.indirect ELSE 0 END - c.applied)
	FROM %[1]s.month_close c LEFT JOIN %[1]s.month_share s ON s.close_id = c.id GROUP BY c.id
	HAVING coalesce(sum(s.amount), 0) <> CASE c.settlement WHEN 'prorated' THEN c.actual + CASE WHEN c.with_indirect THEN c.indirect ELSE 0 END - c.applied ELSE 0 END`

	// A line of the payroll is the sum of its parts, in time and in pay. Weeks that were locked before parts were
	// told apart have none.
	paid = `
	SELECT format('the payroll week of %%s: the parts of %%s come to %%s ms and %%s, not to %%s ms and %%s', week, person_name,
	              labour_ms + rework_ms + indirect_ms + breaks_ms + rounding_ms, regular_pay + premium + late_pay, regular_ms, pay)
	FROM %[1]s.payroll_line
	WHERE (regular_ms, regular_pay, premium, late_pay) <> (0, 0, 0, 0)
	  AND (regular_ms <> labour_ms + rework_ms + indirect_ms + breaks_ms + rounding_ms OR pay <> regular_pay + premium + late_pay)`
)
