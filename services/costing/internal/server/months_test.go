package server_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

const (
	toSold   = costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD
	prorated = costingv1.Month_SETTLEMENT_PRORATED
)

func (o *office) months() costingv1.MonthServiceClient {
	return costingv1.NewMonthServiceClient(o.Conn)
}

// takingEarlier is a first close that settles the overhead of months before its own too.
func takingEarlier(r *costingv1.CloseMonthRequest) *costingv1.CloseMonthRequest {
	r.WithEarlier = true
	return r
}

func closeOf(month int32, s costingv1.Month_Settlement) *costingv1.CloseMonthRequest {
	return &costingv1.CloseMonthRequest{RequestId: svctest.NewID(), Month: dayOf(month, 20), Settlement: s}
}

// closeMonth closes a month once the books have all that the producers recorded.
func (o *office) closeMonth(t *testing.T, month int32, s costingv1.Month_Settlement) *costingv1.Month {
	t.Helper()
	return o.closeBy(t, closeOf(month, s))
}

func (o *office) closeBy(t *testing.T, request *costingv1.CloseMonthRequest) *costingv1.Month {
	t.Helper()
	deadline := time.Now().Add(10 * time.Second)
	for {
		request.RequestId = svctest.NewID()
		r, err := o.months().CloseMonth(svctest.Ctx(t), request)
		if err == nil {
			return r.Month
		}
		if !fault.Is(err, "BOOKS_BEHIND") || time.Now().After(deadline) {
			t.Fatal(err)
		}
		<-time.After(20 * time.Millisecond)
	}
}

// balance wants what an account comes to at an instant of the trial balance, which is in balance.
func (o *office) balance(t *testing.T, at *timestamppb.Timestamp, account string, want int64) {
	t.Helper()
	r, err := o.months().GetTrialBalance(t.Context(), &costingv1.GetTrialBalanceRequest{Time: at})
	if err != nil {
		t.Fatal(err)
	}
	if cents(r.Debit) != cents(r.Credit) {
		t.Errorf("debits %d, credits %d", cents(r.Debit), cents(r.Credit))
	}
	var got int64
	for _, row := range r.Rows {
		if row.Account == account {
			got = cents(row.Debit) - cents(row.Credit)
		}
	}
	if got != want {
		t.Errorf("%s = %d, want %d", account, got, want)
	}
}

func (o *office) profit(t *testing.T, from, to int32) *costingv1.GetProfitAndLossResponse {
	t.Helper()
	r, err := o.months().GetProfitAndLoss(t.Context(), &costingv1.GetProfitAndLossRequest{FromMonth: dayOf(from, 1), ToMonth: dayOf(to, 1)})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A month of two pieces, one sold: it is closed with 12.00 too little, half for each; what is late
// then counts in April, and nothing of March changes, not by a rebuild either.
func TestServer_CloseMonth(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.setOverhead(t, overheadOf("", labourHour, 1_000, dayOf(3, 1)))
	o.setRate(t, 2_000, dayOf(3, 1))
	sold, kept := o.takenIn(7, 1_000), o.takenIn(8, 500)
	o.worked(sold, monday)
	o.worked(kept, monday)
	o.sold(sold, 9_000)
	o.spend(t, "rent", 3_200, dayOf(3, 31))
	o.cost(t, sold, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Overhead) == 1_000 && cents(c.Sums.Revenue) == 9_000 && cents(c.Sums.Acquisition) == 1_000
	})
	o.cost(t, kept, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Overhead) == 1_000 && cents(c.Sums.Acquisition) == 500
	})
	march := o.closeMonth(t, 3, prorated)
	want := &costingv1.Month{FirstDate: dayOf(3, 1), CloseTime: timestamppb.New(april), ClosedBy: svctest.Actor, Settlement: prorated, Applied: usd(2_000), Actual: usd(3_200),
		IndirectLabour: usd(0), UnderApplied: usd(1_200), Late: usd(0), Profit: usd(9_000 - 1_000 - 2_000 - 1_000 - 600)}
	if diff := cmp.Diff(want, march, protocmp.Transform()); diff != "" {
		t.Errorf("March (-want +got):\n%s", diff)
	}
	for _, piece := range []id.ID{sold, kept} {
		o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Overhead) == 1_600 })
	}
	end := timestamppb.New(time.Date(2026, 4, 1, 4, 0, 0, 0, time.UTC))
	o.balance(t, end, "overhead_applied", 0)
	o.balance(t, end, "overhead_actual", 0)
	o.balance(t, end, "cost_of_goods_sold", 1_000+2_000+1_600)
	o.balance(t, end, "work_in_process", 500+2_000+1_600)
	o.clean(t)
	o.rebuild(t)

	before, sheet := o.profit(t, 3, 3), o.sheet(t, end)
	if !before.Closed || cents(before.Late) != 0 || cents(before.Profit) != 4_400 || cents(sheet.Earned) != 4_400 {
		t.Errorf("March = %v, balance sheet %v", before, sheet)
	}
	late := o.worked // an hour of March that is told now
	late(sold, monday.Add(3*time.Hour))
	o.cost(t, sold, func(c *costingv1.PieceCost) bool { return c.Sums.LabourTime.AsDuration() == 2*time.Hour })
	same := func() {
		t.Helper()
		if diff := cmp.Diff(before, o.profit(t, 3, 3), protocmp.Transform()); diff != "" {
			t.Errorf("March changed:\n%s", diff)
		}
		if diff := cmp.Diff(sheet, o.sheet(t, end), protocmp.Transform()); diff != "" {
			t.Errorf("the end of March changed:\n%s", diff)
		}
		now := o.profit(t, 4, 4)
		// The hour costs 20.00 and 10.00 of overhead, which is carried and not yet spent.
		if now.Closed || cents(now.Late) != -2_000 || cents(now.Profit) != -2_000 || cents(now.CostOfSales.Total) != 3_000 || cents(now.Expenses.Total) != -1_000 {
			t.Errorf("April = %v", now)
		}
		if both := o.profit(t, 3, 4); cents(both.Profit) != 4_400-2_000 || both.Closed || cents(both.Late) != -2_000 {
			t.Errorf("both months = %v", both)
		}
	}
	same()
	o.clean(t)
	o.rebuild(t)
	same()
	list, err := o.months().ListMonths(t.Context(), &costingv1.ListMonthsRequest{})
	if err != nil || len(list.Months) != 2 {
		t.Fatalf("months = %v, %v", list, err)
	}
	if diff := cmp.Diff(want, list.Months[0], protocmp.Transform()); diff != "" {
		t.Errorf("March in the list (-want +got):\n%s", diff)
	}
	open := &costingv1.Month{FirstDate: dayOf(4, 1), Applied: usd(1_000), Actual: usd(0), IndirectLabour: usd(0), UnderApplied: usd(-1_000), Late: usd(-2_000), Profit: usd(-2_000)}
	if diff := cmp.Diff(open, list.Months[1], protocmp.Transform()); diff != "" {
		t.Errorf("April in the list (-want +got):\n%s", diff)
	}
	for what, harm := range map[string]string{
		"AShareGone":   `DELETE FROM month_share`,
		"AnotherPiece": `UPDATE posting SET piece_id = (SELECT piece_id FROM piece WHERE tag = 8) WHERE account = 'overhead_applied' AND piece_id = (SELECT piece_id FROM piece WHERE tag = 7)`,
		"SpentMore":    `UPDATE month_close SET actual = actual + 1`,
	} {
		o.exec(t, "SET search_path = costing; "+harm)
		if r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.Clean {
			t.Errorf("%s: the books verify: %v, %v", what, r, err)
		}
	}
}

func (o *office) sheet(t *testing.T, at *timestamppb.Timestamp) *costingv1.GetBalanceSheetResponse {
	t.Helper()
	r, err := o.months().GetBalanceSheet(t.Context(), &costingv1.GetBalanceSheetRequest{Time: at})
	if err != nil {
		t.Fatal(err)
	}
	if cents(r.Assets.Total) != cents(r.Liabilities.Total)+cents(r.Earned) {
		t.Errorf("owned %d, owed %d, earned %d", cents(r.Assets.Total), cents(r.Liabilities.Total), cents(r.Earned))
	}
	return r
}

// Labour on no piece is overhead that was spent only where the close says so; where it did not, it is
// not taken by a later close either.
func TestServer_CloseMonth_WithIndirectLabour(t *testing.T) {
	t.Parallel()
	o := setupAt(t, func() time.Time { return april.AddDate(0, 1, 0) })
	o.setRate(t, 2_000, dayOf(3, 1))
	o.cleaned(monday, time.Hour)
	o.awaitClosed(t, 3, false)
	o.cleanedAt(time.Date(2026, 4, 6, 14, 0, 0, 0, time.UTC), 3*time.Hour)
	april := o.awaitClosed(t, 4, true)
	if cents(april.IndirectLabour) != 6_000 || cents(april.UnderApplied) != 6_000 || !april.WithIndirectLabour {
		t.Errorf("April = %v", april)
	}
	o.balance(t, nil, "indirect_labour", 2_000)
	o.balance(t, nil, "cost_of_goods_sold", 6_000)
	o.clean(t)
}

// awaitClosed closes a month once the books have what was told.
func (o *office) awaitClosed(t *testing.T, month int32, withIndirect bool) *costingv1.Month {
	t.Helper()
	r := closeOf(month, toSold)
	r.WithIndirectLabour = withIndirect
	return o.closeBy(t, r)
}

func TestServer_CloseMonth_Refuses(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.settle(t)
	refused := func(r *costingv1.CloseMonthRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, o.Service, o.months().CloseMonth, r, kind, reason)
	}
	refused(closeOf(4, toSold), fault.Precondition, "MONTH_NOT_OVER")
	refused(closeOf(3, 0), fault.Invalid, "INVALID_FIELD")
	absurd := closeOf(3, toSold)
	absurd.Month = &date.Date{Year: 1999, Month: 1, Day: 1}
	refused(absurd, fault.Invalid, "DATE_ABSURD")

	o.spend(t, "rent", 1_000, dayOf(2, 1))
	refused(closeOf(2, prorated), fault.Precondition, "NOTHING_TO_PRORATE")
	o.closeMonth(t, 1, toSold)
	refused(closeOf(3, toSold), fault.Precondition, "EARLIER_MONTH_OPEN")
	o.closeMonth(t, 2, toSold)
	refused(closeOf(2, toSold), fault.Precondition, "MONTH_CLOSED")
	refused(closeOf(1, toSold), fault.Precondition, "MONTH_CLOSED")

	for _, name := range []string{"intake", "workflow", "materials", "sales"} {
		o.from[name].setAway(true)
		refused(closeOf(3, toSold), fault.Unavailable, "AWAY")
		o.from[name].setAway(false)
	}
	sales := o.from["sales"] // it has recorded something that it does not tell yet
	sales.mu.Lock()
	sales.silent = true
	sales.mu.Unlock()
	piece := o.takenIn(7, 1_000)
	o.sold(piece, 9_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	refused(closeOf(3, toSold), fault.Precondition, "BOOKS_BEHIND")
	sales.mu.Lock()
	sales.silent = false
	sales.mu.Unlock()
	clock := o.clockedOn(piece, monday)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Revenue) == 9_000 && c.Provisional })
	refused(closeOf(3, toSold), fault.Precondition, "CLOCKS_RUNNING")
	o.clockedOff(piece, clock)
	review := o.setAside(monday)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return c.Sums.ReworkTime.AsDuration() == time.Hour })
	o.clean(t) // the review is taken in too
	refused(closeOf(3, toSold), fault.Precondition, "REVIEWS_OPEN")
	o.reviewSettled(review)
	o.clean(t)
	refused(closeOf(3, toSold), fault.Precondition, "PAY_RATE_MISSING")
	o.setRate(t, 2_000, dayOf(3, 1))
	o.closeMonth(t, 3, toSold)
}

// However the shop goes on, debits are credits at each instant, and what is owned is what is owed and
// earned.
func TestServer_TrialBalance_AtEachInstant(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.setRate(t, 1_777, dayOf(3, 1))
	o.setOverhead(t, overheadOf("", machineHour, 1_234, dayOf(3, 1)))
	for n := range 4 {
		piece := o.takenIn(int32(n+1), int64(1_000+n))
		stage := id.New().String()
		for h := range 3 {
			span := o.span(monday.AddDate(0, 0, 7*n).Add(time.Duration(h)*50*time.Minute), time.Hour)
			span.StageId = stage
			o.tell(piece, span)
		}
		if n%2 == 0 {
			o.sold(piece, int64(9_000+n))
		}
		o.spend(t, fmt.Sprintf("bill %d", n), int64(777*(n+1)), dayOf(3, int32(1+7*n)))
	}
	o.closeMonth(t, 3, prorated)
	for at := monday.AddDate(0, 0, -3); at.Before(april); at = at.Add(31 * time.Hour) {
		o.balance(t, timestamppb.New(at), "tax_payable", 0)
		o.sheet(t, timestamppb.New(at))
	}
	o.clean(t)
	statements := o.months()
	svctest.Refused(t, o.Service, statements.GetTrialBalance, &costingv1.GetTrialBalanceRequest{Time: timestamppb.New(april.AddDate(0, 0, 1))}, fault.Invalid, "TIME_IN_FUTURE")
	svctest.Refused(t, o.Service, statements.GetBalanceSheet, &costingv1.GetBalanceSheetRequest{Time: timestamppb.New(april.AddDate(-40, 0, 0))}, fault.Invalid, "TIME_TOO_OLD")
	svctest.Refused(t, o.Service, statements.GetProfitAndLoss, &costingv1.GetProfitAndLossRequest{FromMonth: dayOf(3, 1), ToMonth: dayOf(2, 1)}, fault.Invalid, "MONTHS_REVERSED")
	svctest.Refused(t, o.Service, statements.GetProfitAndLoss, &costingv1.GetProfitAndLossRequest{FromMonth: &date.Date{Year: 1950, Month: 1, Day: 1}}, fault.Invalid, "DATE_ABSURD")
}

// unhurried gives a command again while a rebuild keeps it waiting for too long.
func unhurried[R, A any](t *testing.T, command func(context.Context, R, ...grpc.CallOption) (A, error), r R) {
	t.Helper()
	for {
		_, err := command(svctest.Ctx(t), r)
		if err == nil {
			return
		}
		if !fault.Is(err, "CONTENTION") {
			t.Fatal(err)
		}
	}
}

// Rates are set and bills entered while the books are rebuilt; a rebuild that began without one begins
// anew, and nothing is lost.
func TestServer_RebuildWhileRecordsAreMade(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	for n := range 300 {
		o.worked(piece, monday.Add(time.Duration(n)*time.Hour))
	}
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return c.Sums.LabourTime.AsDuration() == 300*time.Hour })
	done := make(chan error)
	go func() {
		for range 6 {
			if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
				done <- err
				return
			}
		}
		done <- nil
	}()
	var bills, rates int64
	for running := true; running; {
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			running = false
		default:
			unhurried(t, o.overheads().EnterOverheadActual, actualOf("bill", 100, dayOf(3, 1)))
			bills++
			if bills%10 == 0 {
				rates++
				r := overheadOf("", labourHour, rates, dayOf(3, 1))
				r.Replaces = true
				unhurried(t, o.overheads().SetOverheadRate, r)
			}
			<-time.After(10 * time.Millisecond)
		}
	}
	o.balance(t, nil, "overhead_actual", 100*bills)
	o.balance(t, nil, "overhead_applied", -300*rates)
	o.clean(t)
}

// A bookkeeper reads the chart and the rules in words, and as they are written.
func TestServer_GetAccountRules(t *testing.T) {
	t.Parallel()
	o := setup(t)
	r, err := o.months().GetAccountRules(t.Context(), &costingv1.GetAccountRulesRequest{})
	if err != nil || r.Own || len(r.Accounts) == 0 || len(r.Yaml) == 0 {
		t.Fatalf("rules = %v, %v", r, err)
	}
	for _, rule := range r.Rules {
		if rule.Rule == "sold" {
			want := &costingv1.GetAccountRulesResponse_Rule{Rule: "sold", Says: rule.Says, Amounts: []string{"price", "tax", "fee"},
				Debits:  []*costingv1.GetAccountRulesResponse_Line{{Account: "cash_clearing", Amount: "price + tax - fee"}, {Account: "channel_fees", Amount: "fee", Sheet: "fees"}},
				Credits: []*costingv1.GetAccountRulesResponse_Line{{Account: "revenue", Amount: "price", Sheet: "revenue"}, {Account: "tax_payable", Amount: "tax", Sheet: "tax"}}}
			if diff := cmp.Diff(want, rule, protocmp.Transform()); diff != "" {
				t.Errorf("sold (-want +got):\n%s", diff)
			}
			return
		}
	}
	t.Error("there is no rule of a sale")
}

// cleanedAt tells of cleaning that is booked on its own day.
func (o *office) cleanedAt(start time.Time, length time.Duration) {
	s := o.span(start, length)
	s.StageId, s.StageKind, s.Indirect = "", "", "cleaning"
	e := &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}}
	o.from["workflow"].add(o.nell, id.Nil, e)
	o.from["workflow"].mu.Lock()
	e.OccurredAt = timestamppb.New(start.Add(length))
	o.from["workflow"].mu.Unlock()
}
