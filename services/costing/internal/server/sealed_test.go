package server_test

import (
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// What was changed of a locked week or of a close is told as a bookkeeper would say it.
func TestServer_Verify_TellsHarmedRecordsInWords(t *testing.T) {
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

// A week and a close that are older than digests have none. Nobody makes one up: not the next lock, not the next
// close, not a rebuild. What can be told of them without is told.
func TestServer_RecordsOlderThanDigests(t *testing.T) {
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	o.twoPieces(t)
	o.lock(t, dayOf(3, 2))
	o.closeMonth(t, 3, toSold)
	unseal := `UPDATE costing.payroll_lock SET lines = NULL, digest = NULL; UPDATE costing.month_close SET digest = NULL`
	o.exec(t, unseal)
	o.clean(t)
	o.lock(t, dayOf(3, 9))
	o.closeMonth(t, 4, toSold)
	o.rebuild(t)
	o.clean(t)
	got := o.text(t, `SELECT (SELECT string_agg(format('%s %s', week, digest IS NULL), ', ' ORDER BY week) FROM costing.payroll_lock) || '; ' ||
		(SELECT string_agg(format('%s %s', month, digest IS NULL), ', ' ORDER BY month) FROM costing.month_close)`)
	if want := "2026-03-02 t, 2026-03-09 f; 2026-03-01 t, 2026-04-01 f"; got != want {
		t.Errorf("without a digest are %s, want %s", got, want)
	}
	o.exec(t, unseal)
	for name, harm := range map[string]string{
		"Parts":       `UPDATE costing.payroll_line SET premium = premium + 1`,
		"NoParts":     `UPDATE costing.payroll_line SET pay = 1, regular_ms = 0, regular_pay = 0, premium = 0, late_pay = 0, burden = 5`,
		"Overtime":    `UPDATE costing.payroll_line SET overtime_ms = regular_ms + 1`,
		"LessThanNil": `UPDATE costing.payroll_line SET overtime_ms = -1`,
		"Breaks":      `UPDATE costing.payroll_line SET break_pay = regular_pay + 1`,
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
	o := paying(t)
	o.twoPieces(t)
	o.closeMonth(t, 3, toSold)
	o.reopened(t, 3)
	o.spend(t, "power", 800, dayOf(3, 30))
	o.closeMonth(t, 3, prorated)
	o.clean(t)
	if got := o.text(t, `SELECT format('%s digests, %s of them of what is there', count(DISTINCT c.digest), count(*) FILTER (WHERE c.digest = d.digest))
		FROM costing.month_close c JOIN costing.month_digest d ON d.close_id = c.id`); got != "2 digests, 2 of them of what is there" {
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
