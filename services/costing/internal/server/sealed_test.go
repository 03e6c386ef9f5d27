package server_test

import (
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/store"
)

// What was changed of a locked week or of a close is told as a bookkeeper would say it.
func TestServer_Verify_TellsHarmedRecordsInWords(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.twoPieces(t)
	o.lock(t, dayOf(3, 2))
	o.closeMonth(t, 3, toSold)
	o.clean(t)
	for _, c := range []struct{ harm, want string }{
		{`UPDATE costing.month_day SET day = day + 1`, "the close of 2026-03 does not say what it said when it was made by Nell; what it counts by account or by day, what it shares out, or the close itself was changed since"},
		{`UPDATE costing.payroll_line SET burden = 99999`, "the payroll week of 2026-03-02 does not say what it said when it was locked by Nell; a figure, a name or the lock itself was changed since"},
		{`UPDATE costing.payroll_line SET overtime_ms = 3600001`, "the payroll week of 2026-03-02: Nell has 3600001 ms of overtime in 3600000 ms, and 0 for breaks and rounding and a premium of 0 on 2000"},
		{`DELETE FROM costing.payroll_line`, "the payroll week of 2026-03-02 was locked by Nell with 1 line(s) and has 0"},
	} {
		o.exec(t, c.harm)
		r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
		if err != nil || !slices.Contains(r.Differences, c.want) {
			t.Errorf("after %s: %q, %v, want %q", c.harm, r.GetDifferences(), err, c.want)
		}
	}
}

// What was locked, closed or reopened and is gone is missed, also with its seal and also where it was made last; so is
// a seal that was changed or is lost.
func TestServer_VerifyMissesDeletedRecords(t *testing.T) {
	t.Parallel()
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	o.twoPieces(t)
	o.lock(t, dayOf(3, 2))
	o.lock(t, dayOf(3, 9))
	o.closeMonth(t, 3, toSold)
	o.closeMonth(t, 4, toSold)
	o.reopened(t, 4)
	o.lock(t, dayOf(3, 16))
	o.clean(t)
	const (
		week2  = `DELETE FROM payroll_line WHERE week = '2026-03-02'; DELETE FROM payroll_lock WHERE week = '2026-03-02'; `
		week16 = `DELETE FROM payroll_line WHERE week = '2026-03-16'; DELETE FROM payroll_lock WHERE week = '2026-03-16'; `
		reopen = `DELETE FROM month_reopen; `
		ofApr  = `close_id = (SELECT id FROM month_close WHERE month = '2026-04-01'); `
		close4 = reopen + `DELETE FROM month_day WHERE ` + ofApr + `DELETE FROM month_balance WHERE ` + ofApr + `DELETE FROM month_close WHERE month = '2026-04-01'; `
		ends   = `6 seal(s) were set and the last there is is number 5; the locked weeks, closes or reopenings that were made last are gone, with their seals`
	)
	for name, c := range map[string]struct{ harm, want string }{
		"Week":              {week2, "the payroll week of 2026-03-02 was locked by Nell and the lock is gone; it was deleted, and the pay would be due again"},
		"WeekAndSeal":       {week2 + `DELETE FROM seal WHERE number = 1`, "1 locked week(s), close(s) or reopening(s) that were made right before the payroll week of 2026-03-09 are gone, with their seals"},
		"LastWeekAndSeal":   {week16 + `DELETE FROM seal WHERE number = 6`, ends},
		"Renumbered":        {week2 + `DELETE FROM seal WHERE number = 1; UPDATE seal SET number = -number; UPDATE seal SET number = -number - 1`, "the seal of the payroll week of 2026-03-09 is not as it was set; it was changed since, or the one before it"},
		"AllSeals":          {`DELETE FROM seal`, "6 seal(s) were set and the last there is is number 0; the locked weeks, closes or reopenings that were made last are gone, with their seals"},
		"NoSeal":            {`DELETE FROM seal WHERE number = 6`, "the payroll week of 2026-03-16 by Nell has no seal; it was not made by this program, or its seal was deleted"},
		"Head":              {`DELETE FROM seal_head`, "which seal was set last is no longer known; 6 are there"},
		"HeadDigest":        {`UPDATE seal_head SET digest = ''`, "the last seal, number 6, is not the one that was set; it was changed since"},
		"Close":             {close4, "the close of 2026-04 by Nell is gone; it was deleted, not taken back"},
		"CloseAndSeals":     {close4 + `DELETE FROM seal WHERE day = '2026-04-01'`, "2 locked week(s), close(s) or reopening(s) that were made right before the payroll week of 2026-03-16 are gone, with their seals"},
		"Reopening":         {reopen, "the reopening of 2026-04 by Nell is gone; it was deleted, and the close that it took back would count again"},
		"ReopeningReason":   {`UPDATE month_reopen SET reason = 'because'`, "the reopening of 2026-04 does not say what it said when it was made by Nell; its reason, its time, who made it or which close it takes back was changed since"},
		"ReopeningActor":    {`UPDATE month_reopen SET actor = 'Bo'`, "the reopening of 2026-04 does not say what it said when it was made by Nell; its reason, its time, who made it or which close it takes back was changed since"},
		"SealWithoutDigest": {`UPDATE seal SET content = NULL WHERE number = 1; UPDATE payroll_line SET burden = burden + 1`, "the seal of the payroll week of 2026-03-02 is not as it was set; it was changed since, or the one before it"},
		"SealOfAsItIs":      {`UPDATE payroll_line SET burden = burden + 1; UPDATE seal s SET content = r.digest FROM sealed r WHERE r.kind = s.kind AND r.day = s.day`, "the seal of the payroll week of 2026-03-02 is not as it was set; it was changed since, or the one before it"},
		"SealSetAnew": {`UPDATE payroll_line SET burden = burden + 1 WHERE week = '2026-03-02'; UPDATE seal s SET content = r.digest FROM sealed r WHERE s.number = 1 AND r.kind = s.kind AND r.day = s.day;
			UPDATE seal s SET digest = c.comes_to FROM seal_chain c WHERE s.number = 1 AND c.number = 1`, "the seal of the payroll week of 2026-03-09 is not as it was set; it was changed since, or the one before it"},
		"SealLines": {`UPDATE seal SET lines = lines + 1 WHERE number = 1`, "the payroll week of 2026-03-02 was locked by Nell with 2 line(s) and has 1"},
	} {
		t.Run(name, func(t *testing.T) {
			o.exec(t, "SET search_path = costing; "+kept+"; "+c.harm+"; "+differs)
			r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
			if err != nil || !slices.Contains(r.Differences, c.want) {
				t.Errorf("the books verify: %q, %v, want %q", r.GetDifferences(), err, c.want)
			}
			o.exec(t, "SET search_path = costing; "+mended+"; "+same)
		})
	}
	o.clean(t)
}

// A week, a close and a reopening that are older than seals are sealed as having been there, in the order in which they
// were made. What they say nobody makes up: not the next lock, not the next close, not a rebuild. What can be told of
// it without is told.
func TestServer_RecordsOlderThanSeals(t *testing.T) {
	t.Parallel()
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	o.twoPieces(t)
	o.lock(t, dayOf(3, 2))
	o.closeMonth(t, 3, toSold)
	o.reopened(t, 3)
	migration, err := store.Migrations.ReadFile("migrations/00011_digests.sql")
	if err != nil {
		t.Fatal(err)
	}
	unseal := `SET search_path = costing; DROP VIEW seal_chain, sealed, payroll_digest, month_digest; DROP FUNCTION seal_digest; DROP TABLE seal, seal_head; ` + string(migration)
	o.exec(t, unseal)
	o.clean(t)
	o.closeMonth(t, 3, toSold)
	o.lock(t, dayOf(3, 9))
	o.rebuild(t)
	o.clean(t)
	got := o.text(t, `SELECT string_agg(format('%s %s %s %s', number, kind, day, content IS NULL), ', ' ORDER BY number) FROM costing.seal`)
	if want := "1 close 2026-03-01 t, 2 payroll week 2026-03-02 t, 3 reopening 2026-03-01 t, 4 close 2026-03-01 f, 5 payroll week 2026-03-09 f"; got != want {
		t.Errorf("the seals are %s, want %s", got, want)
	}
	o.exec(t, unseal)
	for name, harm := range map[string]string{
		"Parts":       `UPDATE costing.payroll_line SET premium = premium + 1`,
		"NoParts":     `UPDATE costing.payroll_line SET pay = 1, regular_ms = 0, regular_pay = 0, premium = 0, late_pay = 0, burden = 5`,
		"Overtime":    `UPDATE costing.payroll_line SET overtime_ms = regular_ms + 1`,
		"LessThanNil": `UPDATE costing.payroll_line SET overtime_ms = -1`,
		"Breaks":      `UPDATE costing.payroll_line SET break_pay = regular_pay + 1`,
		"Gone":        `DELETE FROM costing.payroll_line`,
	} {
		t.Run(name, func(t *testing.T) {
			o.exec(t, `CREATE TABLE line AS TABLE costing.payroll_line; `+harm)
			if r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.Clean {
				t.Errorf("the books verify: %v, %v", r, err)
			}
			o.exec(t, `DELETE FROM costing.payroll_line; INSERT INTO costing.payroll_line TABLE line; DROP TABLE line`)
			o.clean(t)
		})
	}
	// As it was before parts were told apart.
	o.exec(t, `UPDATE costing.payroll_line SET regular_ms = 0, regular_pay = 0, premium = 0`)
	o.clean(t)
}

// A month that is closed again is sealed as it is then; the close that was taken back keeps its own.
func TestServer_CloseMonth_SealsAnew(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.twoPieces(t)
	o.closeMonth(t, 3, toSold)
	o.reopened(t, 3)
	o.spend(t, "power", 800, dayOf(3, 30))
	o.closeMonth(t, 3, prorated)
	o.clean(t)
	if got := o.text(t, `SELECT format('%s digests, %s of them of what is there', count(DISTINCT s.content), count(*) FILTER (WHERE s.content = d.digest))
		FROM costing.seal s JOIN costing.month_digest d ON d.close_id = s.id`); got != "2 digests, 2 of them of what is there" {
		t.Errorf("there are %s", got)
	}
	o.exec(t, `UPDATE costing.month_day SET day = '2026-03-10' WHERE day = '2026-03-09' AND close_id = (SELECT id FROM costing.month_close WHERE follows IS NOT NULL)`)
	if r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.Clean {
		t.Errorf("the books verify: %v, %v", r, err)
	}
}

// text asks the service's tables.
func (o *office) text(t testing.TB, sql string) (answer string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), o.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	if err := conn.QueryRow(t.Context(), sql).Scan(&answer); err != nil {
		t.Fatal(err)
	}
	return answer
}
