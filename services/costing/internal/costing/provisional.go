package costing

import (
	"fmt"
	"strconv"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Doubt is why a sheet is provisional: what it is called, what it is about, and both in a sentence.
type Doubt struct {
	Reason  string   // BILL_TO_COME …
	Details []string // as text, in the order in which the sentence has them: days as 2026-03-02, words of the trade as routes have them
	Text    string
}

func doubt(reason, format string, details ...string) Doubt {
	args := make([]any, len(details))
	for i, d := range details {
		args[i] = d
	}
	return Doubt{reason, details, fmt.Sprintf(format, args...)}
}

// Open says what keeps the sheet provisional, in sentences; see Doubts.
func (s Sheet) Open(zone *time.Location, c money.Currency) (open []string) {
	for _, o := range s.Doubts(zone, c) {
		open = append(open, o.Text)
	}
	return open
}

// Doubts are what keeps the sheet provisional; days are those of the shop's zone, amounts of its currency.
func (s Sheet) Doubts(zone *time.Location, c money.Currency) (open []Doubt) {
	if s.Scrapped && s.Sales == Sold {
		open = append(open, doubt("SOLD_AND_SCRAPPED", "it was sold and scrapped at once: if it never went out, refund the sale with the piece returned"))
	}
	switch {
	case s.Running > 0 && s.AtWork > 1:
		open = append(open, doubt("PEOPLE_ON_THE_CLOCK", "%s people are on the clock at it now", strconv.FormatInt(s.AtWork, 10)))
	case s.Running > 0:
		open = append(open, doubt("ON_THE_CLOCK", "somebody is on the clock at it now"))
	}
	for _, o := range s.Out {
		open = append(open, o.open(c))
	}
	for _, u := range s.Unrated {
		open = append(open, doubt("PAY_RATE_MISSING", "%s has no pay rate yet for work on %s", u.PersonName, u.Since.In(zone).Format(time.DateOnly)))
	}
	for _, w := range s.Weeks {
		open = append(open, w.open(zone))
	}
	if s.Refused > 0 {
		open = append(open, doubt("EVENTS_REFUSED", "%s event(s) could not be booked", strconv.FormatInt(s.Refused, 10)))
	}
	if s.Waiting > 0 {
		open = append(open, doubt("EVENTS_WAIT", "%s event(s) wait for an earlier one", strconv.FormatInt(s.Waiting, 10)))
	}
	return open
}

// open says what it waits for.
func (o OutsideWork) open(c money.Currency) Doubt {
	switch {
	case o.Unbilled:
		return doubt("BILL_TO_COME", "no bill yet from %s for %s", o.Firm, o.Kind)
	case o.Quoted == nil:
		return doubt("OUTSIDE_WORK_OUT", "%s by %s is out", o.Kind, o.Firm)
	}
	return doubt("OUTSIDE_WORK_QUOTED", "%s by %s is out, quoted %s", o.Kind, o.Firm, c.Format(*o.Quoted))
}

// open says what is uncertain.
func (w OpenWeek) open(zone *time.Location) Doubt {
	day := w.Monday.Format(time.DateOnly)
	switch {
	case w.Person == id.Nil:
		return doubt("WEEK_NOT_OVER", "the workweek of %s is not over: overtime may still change this", day)
	case w.Tangled.IsZero():
		return doubt("HOURS_NOT_BOOKED", "not all hours of %s in the week of %s are booked yet, or some wait for the lead: overtime may still change this", w.PersonName, day)
	}
	return doubt("HOURS_CONTRADICT", "the hours of %s in the week of %s contradict each other (%s is there twice, or was taken away and never there); until they are corrected overtime counts each minute once",
		w.PersonName, day, w.Tangled.In(zone).Format("2006-01-02 15:04"))
}
