package books

import "fmt"

// recorded checks what closes of months and of the payroll have counted, which no event tells and no
// rebuild mends. That the ledger has what closes have settled is compared row by row: the shadow posts it
// from their records. Sums that agree do not say that nothing was changed: two figures may have been, or a line
// be gone. That the digest of each says, which was kept as it was made. Those that are older than the digests
// have none; of them only the sums are known.
func (s *shadow) recorded() (queries []string) {
	for _, query := range []string{counted, countedByDay, dayInBalance, shared, paid, within, asLocked, asClosed} {
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
	// told apart have none of them.
	paid = `
	SELECT format('the payroll week of %%s: the parts of %%s come to %%s ms and %%s, not to %%s ms and %%s', week, person_name,
	              labour_ms + rework_ms + indirect_ms + breaks_ms + rounding_ms, regular_pay + premium + late_pay, regular_ms, pay)
	FROM %[1]s.payroll_line
	WHERE (regular_ms <> labour_ms + rework_ms + indirect_ms + breaks_ms + rounding_ms OR pay <> regular_pay + premium + late_pay)
	  AND (breaks_ms, rounding_ms, overtime_ms, break_pay, rounding_pay, premium, late_pay, burden, regular_pay, regular_ms) <> (0, 0, 0, 0, 0, 0, 0, 0, 0, 0)`

	// Nor is a part more than what it is of, and only rounding, what is late and the burden on it may be below zero.
	within = `
	SELECT format('the payroll week of %%s: %%s has %%s ms of overtime in %%s ms, and %%s for breaks and rounding and a premium of %%s on %%s', week, person_name,
	              overtime_ms, regular_ms, break_pay + rounding_pay, premium, regular_pay)
	FROM %[1]s.payroll_line
	WHERE overtime_ms > greatest(regular_ms, 0) OR break_pay + rounding_pay > greatest(regular_pay, 0) OR least(breaks_ms, overtime_ms, break_pay, premium) < 0`

	// A locked week has the lines with which it was locked.
	asLocked = `
	SELECT format('the payroll week of %%s was locked by %%s with %%s line(s) and has %%s', l.week, l.actor, l.lines, d.lines)
	FROM %[1]s.payroll_lock l JOIN %[1]s.payroll_digest d USING (week) WHERE l.lines <> d.lines
	UNION ALL
	SELECT format('the payroll week of %%s does not say what it said when it was locked by %%s; a figure, a name or the lock itself was changed since', l.week, l.actor)
	FROM %[1]s.payroll_lock l JOIN %[1]s.payroll_digest d USING (week) WHERE l.lines = d.lines AND l.digest <> d.digest`

	// A close counts what it counted when it was made, of each account, day and piece.
	asClosed = `
	SELECT format('the close of %%s does not say what it said when it was made by %%s; what it counts by account or by day, what it shares out, or the close itself was changed since', to_char(c.month, 'YYYY-MM'), c.actor)
	FROM %[1]s.month_close c JOIN %[1]s.month_digest d ON d.close_id = c.id WHERE c.digest <> d.digest`
)
