package server_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// workedLate tells, after the month was closed, of an hour of it.
func (o *office) workedLate(piece id.ID, start, recorded time.Time) {
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{RecordedAt: timestamppb.New(recorded),
		Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: o.span(start, time.Hour)}}})
}

// threeMonths is a shop in May: March is closed, an hour of it was told in April, April is closed too; in May a bill
// came in and another hour of March became known.
func threeMonths(t *testing.T) *office {
	t.Helper()
	now := april.AddDate(0, 1, 0)
	o := setupAt(t, func() time.Time { return now })
	sold, kept := o.twoPieces(t)
	o.closeMonth(t, 3, toSold)
	o.workedLate(sold, monday.Add(3*time.Hour), now)
	o.spend(t, "power", 700, dayOf(4, 20))
	o.clean(t)
	o.closeMonth(t, 4, toSold)
	o.spend(t, "rent", 1_250, dayOf(5, 2))
	o.workedLate(kept, monday.AddDate(0, 0, 2), now)
	o.clean(t)
	return o
}

func adds(t *testing.T, what string, months []*moneyv1.Money, n int, sum *moneyv1.Money) {
	t.Helper()
	var all int64
	for _, m := range months {
		all += cents(m)
	}
	if len(months) != n || all != cents(sum) {
		t.Errorf("%s: %d months add up to %d, the sum of %d is %d", what, len(months), all, n, cents(sum))
	}
}

// The rent of January is settled by the first close, that of March: in all it is nothing, and has its line for the
// months in which it is something, in its place of the chart.
func TestServer_ProfitAndLoss_ByMonth_NothingInAll(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.spend(t, "rent", 1_000, dayOf(1, 5))
	o.twoPieces(t)
	o.closeBy(t, takingEarlier(closeOf(3, toSold)))
	all, err := o.months().GetProfitAndLoss(t.Context(), &costingv1.GetProfitAndLossRequest{FromMonth: dayOf(1, 1), ToMonth: dayOf(3, 1), ByMonth: true})
	if err != nil {
		t.Fatal(err)
	}
	line := &costingv1.StatementSection_Line{Account: "overhead_actual", Title: "Overhead", Amount: usd(0), AmountsByMonth: []*moneyv1.Money{usd(1_000), usd(0), usd(-1_000)}}
	if diff := cmp.Diff([]*costingv1.StatementSection_Line{line}, all.Expenses.Lines, protocmp.Transform(), protocmp.IgnoreFields(line, "number")); diff != "" {
		t.Errorf("expenses by month (-want +got):\n%s", diff)
	}
	if one := o.profit(t, 1, 3); len(one.Expenses.Lines) != 0 || cents(one.Profit) != cents(all.Profit) {
		t.Errorf("all months in one = %v", one)
	}
}

// Each column is the month by itself, and the columns add up to the sum to the cent.
func TestServer_ProfitAndLoss_ByMonth(t *testing.T) {
	t.Parallel()
	o := threeMonths(t)
	all, err := o.months().GetProfitAndLoss(t.Context(), &costingv1.GetProfitAndLossRequest{FromMonth: dayOf(2, 1), ToMonth: dayOf(5, 1), ByMonth: true})
	if err != nil || len(all.Months) != 4 {
		t.Fatalf("by month = %v, %v", all, err)
	}
	var lines int
	for _, part := range []*costingv1.StatementSection{all.Income, all.CostOfSales, all.Expenses} {
		adds(t, "total", part.TotalsByMonth, 4, part.Total)
		for i, l := range part.Lines {
			adds(t, l.Title, l.AmountsByMonth, 4, l.Amount)
			lines++
			if i > 0 && part.Lines[i-1].Account == l.Account {
				t.Errorf("%s is there twice", l.Title)
			}
		}
	}
	var profit, gross, late []*moneyv1.Money
	for n, m := range all.Months {
		alone := o.profit(t, int32(n+2), int32(n+2))
		want := &costingv1.GetProfitAndLossResponse_Month{FirstDate: dayOf(int32(n+2), 1), GrossProfit: alone.GrossProfit, Profit: alone.Profit, Late: alone.Late, Closed: n < 3}
		if diff := cmp.Diff(want, m, protocmp.Transform()); diff != "" {
			t.Errorf("the column and the month by itself differ:\n%s", diff)
		}
		for _, l := range alone.Expenses.Lines {
			if got := amountIn(all.Expenses, l.Account, n); got != cents(l.Amount) {
				t.Errorf("%s of month %d = %d, by itself %d", l.Title, n+2, got, cents(l.Amount))
			}
		}
		profit, gross, late = append(profit, m.Profit), append(gross, m.GrossProfit), append(late, m.Late)
	}
	adds(t, "profit", profit, 4, all.Profit)
	adds(t, "gross profit", gross, 4, all.GrossProfit)
	adds(t, "late", late, 4, all.Late)
	// In April the hour of March is 20.00 of labour on a sold piece, and 10.00 of overhead that it carries.
	if cents(all.Months[2].Late) != -2_000 || cents(all.Months[3].Late) != 1_000 {
		t.Errorf("late = %v", all.Months)
	}
	one := o.profit(t, 2, 5)
	all.Months = nil
	if diff := cmp.Diff(one.Profit, all.Profit, protocmp.Transform()); diff != "" || lines == 0 {
		t.Errorf("the sum and the statement of all (-want +got):\n%s", diff)
	}
}

func amountIn(part *costingv1.StatementSection, account string, month int) int64 {
	for _, l := range part.Lines {
		if l.Account == account {
			return cents(l.AmountsByMonth[month])
		}
	}
	return 0
}

// What is late in a month stays told of it when it is closed, as the list of months tells it.
func TestServer_ProfitAndLoss_LateOfAClosedMonth(t *testing.T) {
	t.Parallel()
	o := threeMonths(t)
	list, err := o.months().ListMonths(t.Context(), &costingv1.ListMonthsRequest{})
	if err != nil || len(list.Months) != 3 {
		t.Fatalf("months = %v, %v", list, err)
	}
	for n, m := range list.Months {
		p := o.profit(t, int32(n+3), int32(n+3))
		if cents(p.Late) != cents(m.Late) || p.Closed != (m.CloseTime != nil) {
			t.Errorf("month %d has %v of it late, and %v in the list", n+3, p.Late, m.Late)
		}
	}
	if p := o.profit(t, 4, 4); !p.Closed || cents(p.Late) != -2_000 {
		t.Errorf("April, closed = %v", p)
	}
}

// Each column is the balance sheet at the month's end; of the month that goes on it is that of now.
func TestServer_BalanceSheet_ByMonth(t *testing.T) {
	t.Parallel()
	o := threeMonths(t)
	all, err := o.months().GetBalanceSheet(t.Context(), &costingv1.GetBalanceSheetRequest{FromMonth: dayOf(2, 1), ToMonth: dayOf(5, 1)})
	if err != nil || len(all.Months) != 4 {
		t.Fatalf("by month = %v, %v", all, err)
	}
	for n, m := range all.Months {
		at := m.Time
		if n == 3 {
			at = nil
		}
		alone := o.sheet(t, at)
		if cents(alone.Earned) != cents(m.Earned) || !alone.Time.AsTime().Equal(m.Time.AsTime()) {
			t.Errorf("month %d: earned %d at %v, by itself %d at %v", n+2, cents(m.Earned), m.Time.AsTime(), cents(alone.Earned), alone.Time.AsTime())
		}
		if owned, owed := cents(all.Assets.TotalsByMonth[n]), cents(all.Liabilities.TotalsByMonth[n]); owned != cents(alone.Assets.Total) || owned != owed+cents(m.Earned) {
			t.Errorf("month %d: %d is owned, %d owed and %d earned; by itself %d is owned", n+2, owned, owed, cents(m.Earned), cents(alone.Assets.Total))
		}
		for _, l := range append(alone.Assets.Lines, alone.Liabilities.Lines...) {
			if got := amountIn(all.Assets, l.Account, n) + amountIn(all.Liabilities, l.Account, n); got != cents(l.Amount) {
				t.Errorf("%s at the end of month %d = %d, by itself %d", l.Title, n+2, got, cents(l.Amount))
			}
		}
	}
	if last := all.Months[3]; cents(all.Earned) != cents(last.Earned) || !all.Time.AsTime().Equal(last.Time.AsTime()) {
		t.Errorf("the sheet is for %v with %v earned, the last month %v", all.Time, all.Earned, last)
	}
	refused := func(r *costingv1.GetBalanceSheetRequest, reason string) {
		t.Helper()
		svctest.Refused(t, o.Service, o.months().GetBalanceSheet, r, fault.Invalid, reason)
	}
	refused(&costingv1.GetBalanceSheetRequest{FromMonth: dayOf(3, 1), ToMonth: dayOf(2, 1)}, "MONTHS_REVERSED")
	refused(&costingv1.GetBalanceSheetRequest{FromMonth: dayOf(3, 1), ToMonth: dayOf(6, 1)}, "TIME_IN_FUTURE")
	refused(&costingv1.GetBalanceSheetRequest{Time: timestamppb.New(monday), FromMonth: dayOf(3, 1)}, "TIME_OR_MONTHS")
	refused(&costingv1.GetBalanceSheetRequest{ToMonth: dayOf(3, 1)}, "DATE_ABSURD")
}

// An hour of a closed month is told with the morning's work, as the close had counted it, whatever of that
// morning becomes known later. Where that cannot be told apart, for a clock was wrong, the answer is for
// the beginning of the day.
func TestServer_TrialBalance_AnHourOfAClosedMonth(t *testing.T) {
	t.Parallel()
	now := april
	o := setupAt(t, func() time.Time { return now })
	sold, _ := o.twoPieces(t)
	o.closeMonth(t, 3, toSold)
	noon := monday.Add(2 * time.Hour) // Nell worked for an hour from nine by New York's clock
	wages := func(at, answered time.Time, want int64) {
		t.Helper()
		o.balance(t, timestamppb.New(at), "wages_payable", want)
		if got := o.trial(t, at).Time.AsTime(); !got.Equal(answered) {
			t.Errorf("asked for %v, the answer is for %v, want %v", at, got, answered)
		}
	}
	same := func() {
		t.Helper()
		wages(noon, noon, -2_000)
		wages(monday, monday, 0)
		wages(noon.AddDate(0, 0, 7), noon.AddDate(0, 0, 7), -4_000)
		wages(april.AddDate(0, 0, -8), april.AddDate(0, 0, -8), -4_000) // the month's last day, before it is settled
		if got := o.sheet(t, timestamppb.New(noon)); !got.Time.AsTime().Equal(noon) {
			t.Errorf("the balance sheet is for %v", got.Time.AsTime())
		}
	}
	same()
	o.workedLate(sold, monday.Add(-time.Hour), now.Add(time.Minute))
	o.clean(t)
	same()
	o.rebuild(t)
	same()
	o.workedLate(sold, monday.Add(-2*time.Hour), now.Add(-time.Hour)) // it says that it was recorded before the close
	o.clean(t)
	wages(noon, monday.Add(-9*time.Hour), 0)
	wages(noon.AddDate(0, 0, 7), noon.AddDate(0, 0, 7), -4_000)
}

// Hours that are told after a month was closed are held against the payroll by the next close, of whatever month they
// are; what the last close has held against it is not read again.
func TestServer_CloseMonth_HoursToldLate(t *testing.T) {
	t.Parallel()
	now := april.AddDate(0, 1, 0)
	o := setupAt(t, func() time.Time { return now })
	o.twoPieces(t)
	o.closeMonth(t, 2, toSold)
	o.closeMonth(t, 3, toSold)
	piece, bo := o.takenIn(9, 100), id.New()
	span := o.span(monday.AddDate(0, -1, 2), time.Hour) // of February
	span.PersonId, span.PersonName = bo.String(), "Bo"
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{RecordedAt: timestamppb.New(now), Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: span}}})
	o.clean(t)
	f := svctest.Refused(t, o.Service, o.months().CloseMonth, closeOf(4, toSold), fault.Precondition, "PAY_RATE_MISSING")
	if f.Meta["people"] != "Bo (2026-02-04)" {
		t.Errorf("PAY_RATE_MISSING names %v, want Bo and the day", f.Meta)
	}
}
