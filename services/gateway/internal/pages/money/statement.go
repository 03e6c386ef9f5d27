package money

import (
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// statement is a month as a bookkeeper reads it, to be printed.
type statement struct {
	month
	Missing bands.Missing
	Over    bool
	Known   bool // the books have something in that month
	Since   string
	AsOf    string // up to which day
	Reason  string // typed: why it is to be opened again
	Late    bool   // a part of the profit became known late
	Profit  *costingv1.GetProfitAndLossResponse
	Balance *costingv1.GetBalanceSheetResponse
	Trial   *costingv1.GetTrialBalanceResponse
}

func showMonth(w http.ResponseWriter, a *web.Asked) error { return showMonthWith(w, a, nil) }

func showMonthWith(w http.ResponseWriter, a *web.Asked, refused error) error {
	it, err := loadStatement(a)
	if err != nil {
		return err
	}
	it.Reason = a.PostFormValue("reason")
	return a.ShowRefused(w, "money", it.Called, page{Tab: "months", Month: &it}, refused)
}

var errMonthAhead = fault.New(fault.NotFound, "MONTH_AHEAD", "That month has not begun yet.")

func loadStatement(a *web.Asked) (it statement, err error) {
	first, err := monthOf(a.PathValue("month"))
	if err != nil {
		return it, err
	}
	if a.Now().Before(time.Date(int(first.Year), time.Month(first.Month), 1, 0, 0, 0, 0, a.Voice.Zone)) {
		return it, errMonthAhead
	}
	end := nextMonth(a.Voice, first)
	it.Over = over(a, first)
	if !it.Over {
		end = a.Now()
	}
	it.AsOf = lastDay(a.Voice, nextMonth(a.Voice, first))
	if !it.Over {
		it.AsOf = a.Voice.DayOf(end)
	}
	var all months
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		all, err = loadMonths(a)
		return err
	})
	reading.Go(func() (err error) {
		it.Profit, err = a.Kit.Suite.Months.GetProfitAndLoss(ctx, &costingv1.GetProfitAndLossRequest{FromMonth: first})
		return err
	})
	reading.Go(func() (err error) {
		it.Balance, err = a.Kit.Suite.Months.GetBalanceSheet(ctx, &costingv1.GetBalanceSheetRequest{FromMonth: first})
		return err
	})
	reading.Go(func() (err error) {
		r := &costingv1.GetTrialBalanceRequest{}
		if it.Over { // else it is for now, by the clock of the books
			r.Time = timestamppb.New(end)
		}
		it.Trial, err = a.Kit.Suite.Months.GetTrialBalance(ctx, r)
		return err
	})
	err = reading.Wait()
	it.month, it.Known = all.find(monthKey(first))
	it.Key, it.Called, it.Since = monthKey(first), monthText(a.Voice, monthKey(first)), it.since(a.Voice)
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.Late = a.Voice.Minor(it.Profit.Late) != 0
	return it, nil
}

func isReason(err error, reason string) bool { return err != nil && fault.Is(err, reason) }

// Closed reports whether nothing of the month changes any more.
func (s statement) Closed() bool { return s.Month != nil && s.CloseTime != nil }
