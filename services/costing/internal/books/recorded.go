package books

import "fmt"

// recorded checks what closes of months and of the payroll have counted, which no event tells and no
// rebuild mends. That the ledger has what closes have settled is compared row by row: the shadow posts it
// from their records. Sums that agree do not say that nothing was changed: two figures may have been, or a line
// or all of a week be gone. That their seals say, which were set as they were made. What is older than the seals is
// sealed as having been there, and of what it says only the sums are known. Seals tell of mistakes and of meddling by
// hand; whoever writes the tables and sets all later seals anew as well is not found out by them.
func (s *shadow) recorded() (queries []string) {
	for _, query := range []string{counted, countedByDay, dayInBalance, shared, paid, within, asSealed, inChain, toTheLast} {
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

	// A locked week, a close and a reopening say what they said when they were sealed, and nothing else is there.
	asSealed = `
	SELECT CASE
		WHEN s.number IS NULL THEN format('the %%s of %%s by %%s has no seal; it was not made by this program, or its seal was deleted', r.kind, ` + sealedDay + `, r.actor)
		WHEN r.kind IS NULL THEN format(CASE s.kind
			WHEN 'payroll week' THEN 'the payroll week of %%s was locked by %%s and the lock is gone; it was deleted, and the pay would be due again'
			WHEN 'close' THEN 'the close of %%s by %%s is gone; it was deleted, not taken back'
			ELSE 'the reopening of %%s by %%s is gone; it was deleted, and the close that it took back would count again' END, ` + sealedDay + `, s.actor)
		WHEN s.lines <> r.lines THEN format('the payroll week of %%s was locked by %%s with %%s line(s) and has %%s', s.day, s.actor, s.lines, r.lines)
		WHEN s.kind = 'payroll week' THEN format('the payroll week of %%s does not say what it said when it was locked by %%s; a figure, a name or the lock itself was changed since', s.day, s.actor)
		WHEN s.kind = 'close' THEN format('the close of %%s does not say what it said when it was made by %%s; what it counts by account or by day, what it shares out, or the close itself was changed since', ` + sealedDay + `, s.actor)
		ELSE format('the reopening of %%s does not say what it said when it was made by %%s; its reason, its time, who made it or which close it takes back was changed since', ` + sealedDay + `, s.actor) END
	FROM %[1]s.seal s FULL JOIN %[1]s.sealed r USING (kind, day, id)
	WHERE s.number IS NULL OR r.kind IS NULL OR (s.actor, s.lines) <> (r.actor, r.lines) OR s.content <> r.digest
	ORDER BY s.number`

	// As a bookkeeper calls the week or the month of a seal.
	sealedDay = `CASE kind WHEN 'payroll week' THEN day::text ELSE to_char(day, 'YYYY-MM') END`

	// No seal is missing before another, and each is as it was set.
	inChain = `
	SELECT CASE WHEN missing <> 0 THEN format('%%s locked week(s), close(s) or reopening(s) that were made right before the %%s of %%s are gone, with their seals', missing, kind, ` + sealedDay + `)
	       ELSE format('the seal of the %%s of %%s is not as it was set; it was changed since, or the one before it', kind, ` + sealedDay + `) END
	FROM %[1]s.seal_chain WHERE missing <> 0 OR digest <> comes_to ORDER BY number`

	// The last seal there is is the last that was set.
	toTheLast = `
	SELECT CASE WHEN h.number IS NULL THEN format('which seal was set last is no longer known; %%s are there', s.number)
	       WHEN h.number <> s.number THEN format('%%s seal(s) were set and the last there is is number %%s; the locked weeks, closes or reopenings that were made last are gone, with their seals', h.number, s.number)
	       ELSE format('the last seal, number %%s, is not the one that was set; it was changed since', s.number) END
	FROM (SELECT 0 AS number, ''::bytea AS digest UNION ALL SELECT number, digest FROM %[1]s.seal ORDER BY number DESC LIMIT 1) AS s
	LEFT JOIN %[1]s.seal_head h ON true WHERE (h.number, h.digest) IS DISTINCT FROM (s.number, s.digest)`
)
