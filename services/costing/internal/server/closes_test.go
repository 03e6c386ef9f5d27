package server_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func reopenOf(month int32) *costingv1.ReopenMonthRequest {
	return &costingv1.ReopenMonthRequest{RequestId: svctest.NewID(), Month: dayOf(month, 20), Reason: "a bill was missing"}
}

func (o *office) reopened(t *testing.T, month int32) *costingv1.Month {
	t.Helper()
	r, err := o.months().ReopenMonth(svctest.Ctx(t), reopenOf(month))
	if err != nil {
		t.Fatal(err)
	}
	return r.Month
}

func (o *office) trial(t *testing.T, at time.Time) *costingv1.GetTrialBalanceResponse {
	t.Helper()
	r, err := o.months().GetTrialBalance(t.Context(), &costingv1.GetTrialBalanceRequest{Time: timestamppb.New(at)})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// twoPieces is a month in which each of two pieces carried 10.00 of overhead, one was sold, and 32.00 were
// spent.
func (o *office) twoPieces(t *testing.T) (sold, kept id.ID) {
	t.Helper()
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setOverhead(t, overheadOf("", labourHour, 1_000, dayOf(3, 1)))
	sold, kept = o.takenIn(7, 1_000), o.takenIn(8, 500)
	o.worked(sold, monday)
	o.worked(kept, monday.AddDate(0, 0, 7))
	o.sold(sold, 9_000)
	o.spend(t, "rent", 3_200, dayOf(3, 31))
	o.clean(t)
	return sold, kept
}

// While the books are those of other rules, nothing is closed by them, and whoever asks how they are
// is told.
func TestServer_BooksOutdated(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.twoPieces(t)
	o.closeMonth(t, 2, toSold)
	o.exec(t, `UPDATE costing.made_by SET rules = 'edition 0'`)
	outdated := func() bool {
		t.Helper()
		p, err := o.books.GetProgress(t.Context(), &costingv1.GetProgressRequest{})
		if err != nil {
			t.Fatal(err)
		}
		return p.Outdated
	}
	if !outdated() {
		t.Error("the books are of other rules, and nobody is told")
	}
	svctest.Refused(t, o.Service, o.months().CloseMonth, closeOf(3, toSold), fault.Precondition, "BOOKS_OUTDATED")
	svctest.Refused(t, o.Service, o.months().ReopenMonth, reopenOf(2), fault.Precondition, "BOOKS_OUTDATED")
	svctest.Refused(t, o.Service, o.payroll.LockPayrollWeek, lockOf(dayOf(3, 2)), fault.Precondition, "BOOKS_OUTDATED")
	o.rebuild(t)
	if outdated() {
		t.Error("the books are made anew, and are said to be of other rules")
	}
	o.lock(t, dayOf(3, 2))
	o.closeMonth(t, 3, toSold)
}

// A month is not closed over hours that the payroll would refuse: nobody said what they are paid, or they
// contradict each other. What is of the next month keeps it from nothing.
func TestServer_CloseMonth_AsThePayrollWould(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.tell(stool, o.span(monday.AddDate(0, 0, 1), time.Hour))
	o.tell(stool, o.span(monday.AddDate(0, 0, 8), time.Hour))
	o.tell(stool, o.span(time.Date(2026, 4, 1, 14, 0, 0, 0, time.UTC), 2*time.Hour))
	o.clean(t)
	f := svctest.Refused(t, o.Service, o.months().CloseMonth, closeOf(3, toSold), fault.Precondition, "PAY_RATE_MISSING")
	if f.Meta["people"] != "Nell (2026-03-03)" {
		t.Errorf("PAY_RATE_MISSING names %v, want Nell and the first day", f.Meta)
	}
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	twice := o.tell(stool, o.span(monday.AddDate(0, 0, 1).Add(30*time.Minute), time.Hour))
	for range 2 { // over the month's end, so of April, where they contradict each other
		o.tell(stool, o.span(time.Date(2026, 4, 1, 3, 30, 0, 0, time.UTC), time.Hour))
	}
	o.clean(t)
	if f := svctest.Refused(t, o.Service, o.months().CloseMonth, closeOf(3, toSold), fault.Precondition, "ENTRIES_OVERLAP"); f.Meta["people"] == "" {
		t.Errorf("ENTRIES_OVERLAP names %v, want Nell", f.Meta)
	}
	o.from["workflow"].add(stool, stool, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{Before: twice, Reason: "twice"}}})
	o.clean(t)
	o.closeMonth(t, 3, toSold)
}

// The last close is taken back: what it settled is as before, pieces give back what they got of it, and
// the close is kept as it was. Then the month is closed in another way, and a rebuild says it all again.
func TestServer_ReopenMonth(t *testing.T) {
	t.Parallel()
	o := paying(t)
	sold, _ := o.twoPieces(t)
	refused := func(month int32, reason string) {
		t.Helper()
		svctest.Refused(t, o.Service, o.months().ReopenMonth, reopenOf(month), fault.Precondition, reason)
	}
	refused(3, "MONTH_NOT_CLOSED")
	silent := reopenOf(3)
	silent.Reason = " "
	svctest.Refused(t, o.Service, o.months().ReopenMonth, silent, fault.Invalid, "INVALID_FIELD")
	absurd := reopenOf(3)
	absurd.Month = &date.Date{Year: 1999, Month: 1, Day: 1}
	svctest.Refused(t, o.Service, o.months().ReopenMonth, absurd, fault.Invalid, "DATE_ABSURD")

	o.closeMonth(t, 2, toSold)
	before := o.profit(t, 3, 3)
	march := o.closeMonth(t, 3, prorated)
	o.cost(t, sold, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Overhead) == 1_600 })
	refused(2, "LATER_MONTH_CLOSED")
	refused(4, "MONTH_NOT_CLOSED")
	open := o.reopened(t, 3)
	o.cost(t, sold, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Overhead) == 1_000 })
	if diff := cmp.Diff(before, o.profit(t, 3, 3), protocmp.Transform()); diff != "" {
		t.Errorf("March before its close and after it was taken back:\n%s", diff)
	}
	history := []*costingv1.Month_Reopening{{CloseTime: march.CloseTime, ClosedBy: svctest.Actor, Profit: march.Profit,
		ReopenTime: timestamppb.New(april), ReopenedBy: svctest.Actor, Reason: "a bill was missing"}}
	if diff := cmp.Diff(history, open.Reopenings, protocmp.Transform()); diff != "" || open.CloseTime != nil || cents(open.UnderApplied) != 1_200 {
		t.Errorf("March is %v (-want +got):\n%s", open, diff)
	}
	o.clean(t)
	o.rebuild(t)

	o.spend(t, "power", 800, dayOf(3, 30))
	again := o.closeMonth(t, 3, toSold)
	if cents(again.UnderApplied) != 2_000 || again.Settlement != toSold || cents(again.Profit) != cents(march.Profit)-600-800 {
		t.Errorf("closed again = %v, before %v", again, march)
	}
	o.clean(t)
	o.rebuild(t)
	list, err := o.months().ListMonths(t.Context(), &costingv1.ListMonthsRequest{})
	if err != nil || len(list.Months) != 3 {
		t.Fatalf("months = %v, %v", list, err)
	}
	again.Reopenings = history
	if diff := cmp.Diff(again, list.Months[1], protocmp.Transform()); diff != "" {
		t.Errorf("March in the list:\n%s", diff)
	}
	o.exec(t, `UPDATE costing.month_reopen SET reopened_at = reopened_at + interval '1 day'`)
	if r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.Clean {
		t.Errorf("a taking back of another day verifies: %v, %v", r, err)
	}
}

// The first close ever takes in all months before its own and says so; they come to what happened in them.
func TestServer_CloseMonth_FirstTakesInAllBefore(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.spend(t, "rent", 1_000, dayOf(1, 5))
	o.twoPieces(t)
	f := svctest.Refused(t, o.Service, o.months().CloseMonth, closeOf(3, prorated), fault.Precondition, "EARLIER_MONTHS_TAKEN_IN")
	if f.Meta["months"] != "2026-01" || f.Meta["under_applied"] != "10.00" || !strings.Contains(f.Text, "2026-01 (carried 0.00, spent 10.00) with it: 10.00 beyond that of 2026-03 alone") {
		t.Errorf("EARLIER_MONTHS_TAKEN_IN names %v: %s", f.Meta, f.Text)
	}
	march := o.closeBy(t, takingEarlier(closeOf(3, prorated)))
	if march.SinceDate.GetMonth() != 1 || cents(march.Actual) != 4_200 || cents(march.UnderApplied) != 2_200 {
		t.Errorf("March = %v", march)
	}
	for month, want := range map[int32]int64{1: -1_000, 2: 0} {
		if p := o.profit(t, month, month); cents(p.Profit) != want || !p.Closed {
			t.Errorf("month %d = %v, want a profit of %d", month, p, want)
		}
	}
	if all := o.profit(t, 1, 3); cents(all.Profit) != cents(march.Profit) {
		t.Errorf("three months = %v, want the profit of the close %v", all, march)
	}
	o.clean(t)
}

// No day of a closed month changes when more of it becomes known. What is late counts right after the last closed
// month, and, once the next month is closed, with that month's first instant.
func TestServer_TrialBalance_DaysOfClosedMonths(t *testing.T) {
	t.Parallel()
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	sold, _ := o.twoPieces(t)
	o.closeMonth(t, 3, toSold)
	days := func() (all []*costingv1.GetTrialBalanceResponse) {
		t.Helper()
		for at := time.Date(2026, 3, 1, 0, 0, 0, 0, zone); at.Month() < time.April; at = at.AddDate(0, 0, 1) {
			r := o.trial(t, at)
			if !r.Time.AsTime().Equal(at) {
				t.Errorf("asked for %v, the answer is for %v", at, r.Time.AsTime())
			}
			all = append(all, r)
		}
		return all
	}
	before := days()
	o.balance(t, timestamppb.New(monday.AddDate(0, 0, 1)), "wages_payable", -2_000)
	o.balance(t, timestamppb.New(monday.AddDate(0, 0, 8)), "wages_payable", -4_000)
	o.worked(sold, monday.AddDate(0, 0, 2))
	o.clean(t)
	end := time.Date(2026, 4, 1, 4, 0, 0, 0, time.UTC)
	same := func() {
		t.Helper()
		if diff := cmp.Diff(before, days(), protocmp.Transform()); diff != "" {
			t.Errorf("a day of March changed:\n%s", diff)
		}
		o.balance(t, timestamppb.New(end), "wages_payable", -4_000)
	}
	same()
	o.balance(t, timestamppb.New(end.Add(time.Second)), "wages_payable", -6_000)
	o.rebuild(t)
	same()
	o.closeMonth(t, 4, toSold)
	same()
	o.balance(t, timestamppb.New(end.Add(time.Hour)), "wages_payable", -6_000)
	o.balance(t, timestamppb.New(end.AddDate(0, 0, 1)), "wages_payable", -6_000)
	o.clean(t)
}

// Verify sees a harmed row of what closes and the payroll have counted, which no event tells, also where
// all sums still agree.
func TestServer_VerifySeesHarmedRecords(t *testing.T) {
	t.Parallel()
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	sold, _ := o.twoPieces(t)
	o.lock(t, dayOf(3, 2))
	o.closeMonth(t, 3, prorated)
	o.worked(sold, monday.AddDate(0, 0, 2))
	o.clean(t)
	o.closeMonth(t, 4, toSold)
	o.clean(t)
	march := `close_id = (SELECT id FROM month_close WHERE month = '2026-03-01')`
	for name, harm := range map[string]string{
		"Balance":       `UPDATE month_balance SET amount = amount + 1 WHERE account = 'revenue' AND amount <> 0`,
		"TwoBalances":   `UPDATE month_balance SET amount = amount + CASE account WHEN 'revenue' THEN 1 ELSE -1 END WHERE account IN ('revenue', 'cash_clearing') AND close_id = (SELECT id FROM month_close WHERE month = '2026-03-01')`,
		"BalanceGone":   `DELETE FROM month_balance WHERE account = 'revenue'`,
		"BalancesGone":  `DELETE FROM month_balance`,
		"Late":          `UPDATE month_balance SET late = late + 1 WHERE late <> 0 AND account = 'wages_payable'`,
		"LateGone":      `UPDATE month_balance SET late = 0`,
		"Day":           `UPDATE month_day SET amount = amount + 1 WHERE account = 'revenue'`,
		"DayGone":       `DELETE FROM month_day WHERE day = '2026-03-09'`,
		"AnotherDay":    `UPDATE month_day SET day = '2026-02-09' WHERE day = '2026-03-09'`,
		"Settlement":    `UPDATE month_close SET settlement = 'cost_of_goods_sold'`,
		"Share":         `UPDATE month_share SET amount = amount + 1`,
		"Applied":       `UPDATE month_close SET applied = applied + 1`,
		"MonthsEnd":     `UPDATE month_close SET ends_at = ends_at + interval '1 hour'`,
		"PostedLine":    `UPDATE posting SET amount = amount + 1 WHERE event_id = (SELECT id FROM month_close WHERE month = '2026-04-01')`,
		"PayLineTime":   `UPDATE payroll_line SET labour_ms = labour_ms + 1`,
		"PayLineBreaks": `UPDATE payroll_line SET breaks_ms = 1`,
		"PayLinePay":    `UPDATE payroll_line SET pay = pay + 1`,
		"PayLinePart":   `UPDATE payroll_line SET premium = premium + 1`,

		"BalanceMovedWithItsLate": `UPDATE month_balance SET (amount, late) = (amount + x, late + x) FROM (VALUES ('revenue', 100), ('cash_clearing', -100)) AS v (a, x) WHERE account = a AND ` + march,
		"BalanceOfAnotherAccount": `UPDATE month_balance SET account = 'parts_' || account WHERE account = 'revenue'; UPDATE month_day SET account = 'parts_' || account WHERE account = 'revenue'`,
		"BalanceAddedOfNothing":   `INSERT INTO month_balance SELECT id, 'suspense', 0, 0 FROM month_close`,
		"DaysMoved":               `UPDATE month_day SET day = day + 1 WHERE day = '2026-03-09'`,
		"DaysExchanged":           `UPDATE month_day SET amount = amount + x FROM (VALUES ('labour', 50, 2), ('labour', -50, 9), ('wages_payable', -50, 2), ('wages_payable', 50, 9)) AS v (a, x, d) WHERE account = CASE a WHEN 'labour' THEN 'work_in_process' ELSE a END AND day = make_date(2026, 3, d)`,
		"ShareMoved":              `UPDATE month_share SET piece_id = gen_random_uuid() WHERE amount = (SELECT max(amount) FROM month_share)`,
		"CloseOfAnother":          `UPDATE month_close SET actor = 'Bo'`,
		"CloseEarlier":            `UPDATE month_close SET closed_at = closed_at - interval '1 microsecond' WHERE month = '2026-03-01'`,
		"PayLinesGone":            `DELETE FROM payroll_line`,
		"PayLineMore":             `INSERT INTO payroll_line SELECT week, gen_random_uuid(), 'Bo', 0, 0, 0, 0, 0 FROM payroll_lock`,
		"PayLinePaidMore":         `UPDATE payroll_line SET pay = pay + 10000, regular_pay = regular_pay + 10000`,
		"PayLineWithoutParts":     `UPDATE payroll_line SET pay = 1, regular_ms = 0, regular_pay = 0, premium = 0, late_pay = 0, labour_ms = 0`,
		"PayLineBurden":           `UPDATE payroll_line SET burden = burden + 1`,
		"PayLineOvertime":         `UPDATE payroll_line SET overtime_ms = 1`,
		"PayLineBreakPay":         `UPDATE payroll_line SET break_pay = 77`,
		"PayLineRoundingPay":      `UPDATE payroll_line SET rounding_pay = -77`,
		"PayLineRework":           `UPDATE payroll_line SET labour_ms = labour_ms - 1, rework_ms = rework_ms + 1`,
		"PayLineLate":             `UPDATE payroll_line SET late_ms = late_ms + 1`,
		"PayLineOfAnother":        `UPDATE payroll_line SET person_id = gen_random_uuid()`,
		"PayLineName":             `UPDATE payroll_line SET person_name = 'Bo'`,
		"PayLockOfAnother":        `UPDATE payroll_lock SET actor = 'Bo'`,
		"PayLockLater":            `UPDATE payroll_lock SET locked_at = locked_at + interval '1 microsecond'`,
	} {
		t.Run(name, func(t *testing.T) {
			o.exec(t, "SET search_path = costing; "+kept+"; "+harm+"; "+differs)
			r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
			if err != nil || r.Clean || len(r.Differences) == 0 {
				t.Errorf("the books verify: %v, %v", r, err)
			}
			o.exec(t, "SET search_path = costing; "+mended+"; "+same)
		})
	}
	o.clean(t)
}

// harmed are the tables that the test above harms; kept copies them, mended puts the copies back, and differs and
// same fail where none of them differs from its copy, for then nothing was harmed, or one does.
var harmed = []string{"month_day", "month_balance", "month_share", "month_reopen", "month_close", "payroll_line", "payroll_lock", "seal", "seal_head", "posting"}

var kept, mended, differs, same = func() (kept, mended, differs, same string) {
	var apart []string
	for _, table := range harmed {
		kept += "CREATE TABLE IF NOT EXISTS kept_" + table + " AS TABLE " + table + "; "
		mended += "DELETE FROM " + table + "; "
		apart = append(apart, "EXISTS (TABLE "+table+" EXCEPT TABLE kept_"+table+") OR EXISTS (TABLE kept_"+table+" EXCEPT TABLE "+table+")")
	}
	for _, table := range slices.Backward(harmed) {
		mended += "INSERT INTO " + table + " TABLE kept_" + table + "; "
	}
	one := "(" + strings.Join(apart, " OR ") + ")::integer"
	return kept, mended, "SELECT 1 / " + one, "SELECT 1 / (1 - " + one + ")"
}()

// The journal says of the entries of a close which month's it is and what became of the overhead, and of those
// of its taking back why.
func TestServer_ListJournal_ACloseSaysWhatItDid(t *testing.T) {
	t.Parallel()
	b := &bench{office: paying(t)}
	b.twoPieces(t)
	b.closeMonth(t, 3, prorated)
	b.reopened(t, 3)
	says := map[string]int{}
	for _, e := range b.journal(t, &costingv1.ListJournalRequest{FromDate: dayOf(3, 31), ToDate: dayOf(3, 31)}) {
		says[e.Description]++
	}
	const of = "The close of March 2026"
	want := map[string]int{
		"rent": 1,
		of + ": what overhead was carried too little goes to the pieces that carried it.": 3, // the month's, and each of two pieces'
		of + " is taken back: a bill was missing":                                         3,
		"The cost of the piece goes to where it stands now.":                              2, // of the one that was sold
	}
	if diff := cmp.Diff(want, says); diff != "" {
		t.Errorf("entries of March 31 (-want +got):\n%s", diff)
	}
}
