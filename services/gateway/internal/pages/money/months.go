package money

import (
	"net/http"
	"slices"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// months are all months of the books, the latest first, and which of them can be closed now.
type months struct {
	Missing  bands.Missing
	Lines    []month
	Closable string // the key of the first that is open, where it is over; else empty
	// ClosableText is that month for people.
	ClosableText string
}

// month is a line: its key as addresses have it, what people call it, and its figures.
type month struct {
	*costingv1.Month
	Key, Called string
	LastClosed  bool // only this one can be opened again
}

func loadMonths(a *web.Asked) (it months, err error) {
	r, err := a.Kit.Suite.Months.ListMonths(a.Context(), &costingv1.ListMonthsRequest{})
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.lay(a, r.Months)
	return it, nil
}

func (m *months) lay(a *web.Asked, all []*costingv1.Month) {
	last, open := -1, false
	for i, one := range all {
		key := monthKey(one.FirstDate)
		m.Lines = append(m.Lines, month{Month: one, Key: key, Called: monthText(a.Voice, key)})
		switch {
		case one.CloseTime != nil:
			last = i
		case !open && over(a, one.FirstDate):
			m.Closable, m.ClosableText = key, monthText(a.Voice, key)
		}
		open = open || one.CloseTime == nil
	}
	if last >= 0 {
		m.Lines[last].LastClosed = true
	}
	slices.Reverse(m.Lines)
}

// find gives a month that the books know.
func (m months) find(key string) (month, bool) {
	i := slices.IndexFunc(m.Lines, func(l month) bool { return l.Key == key })
	if i < 0 {
		return month{}, false
	}
	return m.Lines[i], true
}

// nextMonth is the first instant after a month, by the shop's clock.
func nextMonth(v *words.Voice, first *date.Date) time.Time {
	return time.Date(int(first.Year), time.Month(first.Month)+1, 1, 0, 0, 0, 0, v.Zone)
}

func over(a *web.Asked, first *date.Date) bool { return !a.Now().Before(nextMonth(a.Voice, first)) }

// closing is the second thought before a month is closed.
type closing struct {
	month
	Typed map[string]string
	Asks  bool // whether earlier months may be settled with it was asked
}

// Val is what was typed into a field.
func (c closing) Val(field string) string { return c.Typed[field] }

func showClose(w http.ResponseWriter, a *web.Asked) error { return showCloseWith(w, a, nil) }

func showCloseWith(w http.ResponseWriter, a *web.Asked, refused error) error {
	first, err := monthOf(a.PathValue("month"))
	if err != nil {
		return err
	}
	all, err := loadMonths(a)
	if err != nil {
		return err
	}
	key := monthKey(first)
	it := closing{Typed: map[string]string{}, Asks: isReason(refused, "EARLIER_MONTHS_TAKEN_IN") || a.PostFormValue("earlier") != ""}
	it.month, _ = all.find(key)
	it.Key, it.Called = key, monthText(a.Voice, key)
	for _, f := range []string{"settlement", "indirect", "earlier"} {
		it.Typed[f] = a.PostFormValue(f)
	}
	return a.ShowRefused(w, "money", a.Voice.T("money.close.title", it.Called), page{Tab: "months", Close: &it}, refused)
}

var settlements = map[string]costingv1.Month_Settlement{
	"sold": costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD, "prorated": costingv1.Month_SETTLEMENT_PRORATED,
}

func closeMonth(w http.ResponseWriter, a *web.Asked) error {
	first, err := monthOf(a.PathValue("month"))
	if err != nil {
		return err
	}
	_, err = a.Kit.Suite.Months.CloseMonth(a.Context(), &costingv1.CloseMonthRequest{RequestId: a.RequestID(), Month: first, Settlement: settlements[a.Typed("settlement")],
		WithIndirectLabour: a.Typed("indirect") != "", WithEarlier: a.Typed("earlier") != ""})
	if refusal(err) {
		return showCloseWith(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/money/months/"+monthKey(first), "money.month.closed.now")
}

func reopenMonth(w http.ResponseWriter, a *web.Asked) error {
	first, err := monthOf(a.PathValue("month"))
	if err != nil {
		return err
	}
	_, err = a.Kit.Suite.Months.ReopenMonth(a.Context(), &costingv1.ReopenMonthRequest{RequestId: a.RequestID(), Month: first, Reason: a.Typed("reason")})
	if refusal(err) {
		return showMonthWith(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/money/months/"+monthKey(first), "money.month.open.again")
}

// lastDay is the day before an instant.
func lastDay(v *words.Voice, end time.Time) string {
	return v.DayOf(end.In(v.Zone).Add(-12 * time.Hour))
}

// since is the first day that a close counts, where that is of an earlier month; empty: it is its own.
func (m month) since(v *words.Voice) string {
	if m.Month == nil || m.SinceDate == nil {
		return ""
	}
	return v.DayOf(typed.Noon(m.SinceDate, v.Zone))
}
