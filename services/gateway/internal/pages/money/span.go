package money

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// asked is what of a list somebody wants to see: by what it is put together, and of which days.
type asked struct {
	By       string
	From, To string // as browsers send days; empty: open
	from, to *date.Date
}

// askedOf reads the address. Fault: DAY_UNREADABLE.
func askedOf(a *web.Asked, groupings []string) (asked, error) {
	q := a.URL.Query()
	f := &typed.Form{Values: q, Voice: a.Voice}
	it := asked{By: groupings[0], From: f.Text("from"), To: f.Text("to"), from: f.Day("from"), to: f.Day("to")}
	for _, g := range groupings {
		if g == q.Get("by") {
			it.By = g
		}
	}
	return it, f.Err()
}

// Query is the address of the same days by something, after the question mark.
func (s asked) Query(by string) string {
	q := url.Values{"by": {by}}
	if s.From != "" {
		q.Set("from", s.From)
	}
	if s.To != "" {
		q.Set("to", s.To)
	}
	return q.Encode()
}

// Address is a page with those days by something. It is made whole here: a template would escape what comes after
// the question mark as one word.
func (s asked) Address(page, by string) string { return page + "?" + s.Query(by) }

// monthKey writes a month as addresses have it, 2026-03.
func monthKey(d *date.Date) string { return fmt.Sprintf("%04d-%02d", d.GetYear(), d.GetMonth()) }

// monthOf reads such a month; its first day. Fault: MONTH_UNREADABLE.
func monthOf(text string) (*date.Date, error) {
	t, err := time.Parse("2006-01", text)
	if err != nil {
		return nil, fault.New(fault.NotFound, "MONTH_UNREADABLE", "There is no such month. Months are written as 2026-03.")
	}
	return &date.Date{Year: int32(t.Year()), Month: int32(t.Month()), Day: 1}, nil
}

// monthText writes a month for people: Mar 2026. What is no month stays as it is.
func monthText(v *words.Voice, key string) string {
	t, err := time.Parse("2006-01", key)
	if err != nil {
		return key
	}
	return v.T("month."+strings.ToLower(t.Format("Jan"))) + " " + strconv.Itoa(t.Year())
}

// dayText writes a day of the calendar.
func dayText(v *words.Voice, d *date.Date) string {
	if d == nil {
		return v.T("none")
	}
	return v.DayOf(typed.Noon(d, v.Zone))
}
