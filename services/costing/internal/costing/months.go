package costing

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// Figures are what accounts come to; debits count positive, credits negative.
type Figures map[Account]money.Amount

// With adds balances to them.
func (f Figures) With(balances []ledger.Balance) Figures {
	f.add(balances, 1)
	return f
}

func (f Figures) add(balances []ledger.Balance, sign money.Amount) {
	for _, b := range balances {
		f[b.Account] += sign * b.Amount
	}
}

// Balances lists them, for the chart; in no order.
func (f Figures) Balances() (out []ledger.Balance) {
	for account, amount := range f {
		if amount != 0 {
			out = append(out, ledger.Balance{Account: account, Amount: amount})
		}
	}
	return out
}

// Months is what the months of the books come to. A function of the ledger and the closes alone:
// what a rebuild makes anew of the first, it says again.
//
//	month      January, closed      February, closed     March, open
//	           as it was closed     as it was closed     what happened in it
//	                                                     + late: what all up to the end of February
//	                                                       comes to now, less what the closes of
//	                                                       January and February have counted of it
//
// So a closed month never changes, and nothing is lost or counted twice, whatever is booked when:
// all months together are the ledger, to the minor unit. No clock is asked whether something was
// booked before a close or after: what the close has counted is on its rows. The first close ever
// takes in all months before its own; each of them comes to what happened in it, as counted then.
type Months struct {
	zone   *time.Location
	closes []Close               // in force, in order
	undone []Close               // that were taken back, in order
	before Figures               // all up to the end of the last closed month, as known now
	in     map[time.Time]Figures // what happened in open months, by their first day
}

// NewMonths makes it of the closes, in their order, and of what happened, in pieces of one month each
// (Add).
func NewMonths(closes []Close, zone *time.Location) *Months {
	m := &Months{zone: zone, closes: InForce(closes), before: Figures{}, in: map[time.Time]Figures{}}
	for _, c := range closes {
		if c.Reopened != nil {
			m.undone = append(m.undone, c)
		}
	}
	return m
}

// Add counts what happened in a month.
func (m *Months) Add(month Month, happened []ledger.Balance) {
	if m.Closed(month) {
		m.before.add(happened, 1)
		return
	}
	f := m.in[month.First]
	if f == nil {
		f = Figures{}
		m.in[month.First] = f
	}
	f.add(happened, 1)
}

// Closed reports whether a month is closed, or lies before one that is.
func (m *Months) Closed(month Month) bool {
	return len(m.closes) > 0 && !month.First.After(m.closes[len(m.closes)-1].Month.First)
}

// AnyClosed reports whether any month is.
func (m *Months) AnyClosed() bool { return len(m.closes) > 0 }

// Close is how a month was closed; nil: it is open, or lies before the first that was closed.
func (m *Months) Close(month Month) *Close {
	for i := range m.closes {
		if m.closes[i].Month.First.Equal(month.First) {
			return &m.closes[i]
		}
	}
	return nil
}

// LastClose is how the last closed month was closed; false: none is.
func (m *Months) LastClose() (c Close, some bool) {
	if n := len(m.closes); n > 0 {
		return m.closes[n-1], true
	}
	return c, false
}

// Undone are the closes of a month that were taken back.
func (m *Months) Undone(month Month) (out []Close) {
	for _, c := range m.undone {
		if c.Month.First.Equal(month.First) {
			out = append(out, c)
		}
	}
	return out
}

// FirstOpen is the month after the last closed one; if none is, the first in which something happened;
// false: nothing ever did.
func (m *Months) FirstOpen() (Month, bool) {
	if n := len(m.closes); n > 0 {
		return m.closes[n-1].Month.Next(m.zone), true
	}
	var first time.Time
	for day := range m.in {
		if first.IsZero() || day.Before(first) {
			first = day
		}
	}
	return MonthOf(first, m.zone), !first.IsZero()
}

// NewClose makes the close of a month whose turn it is. The first close ever takes in all that is before.
func (m *Months) NewClose(month Month, s Settlement, withIndirect bool) Close {
	since := month
	if first, some := m.FirstOpen(); some && first.First.Before(month.First) {
		since = first
	}
	c := NewClose(month, s, withIndirect, m.Through(since, month))
	c.Since = since.First
	if undone := m.Undone(month); len(undone) > 0 {
		c.Follows = undone[len(undone)-1].Reopened.ID
	}
	return c
}

// TakesIn is what a close settles of months before its own that have overhead, each as if it were closed by
// itself.
func (m *Months) TakesIn(c Close) (earlier []Close) {
	for _, month := range m.Between(MonthOf(c.Since, m.zone), c.Month) {
		e := NewClose(month, c.Settlement, c.WithIndirect, m.Of(month))
		if month.First.Before(c.Month.First) && (e.Applied != 0 || e.Spent() != 0) {
			earlier = append(earlier, e)
		}
	}
	return earlier
}

// Reopen is the close of a month, taken back. Faults: MONTH_NOT_CLOSED, LATER_MONTH_CLOSED.
func (m *Months) Reopen(month Month, r Reopening) (Close, error) {
	if !m.Closed(month) {
		return Close{}, fault.New(fault.Precondition, "MONTH_NOT_CLOSED", "%s is not closed.", month).At("month")
	}
	last := m.closes[len(m.closes)-1]
	if !last.Month.First.Equal(month.First) {
		return Close{}, fault.New(fault.Precondition, "LATER_MONTH_CLOSED", "Only the last close can be taken back, which is that of %s.", last.Month).
			At("month").With("month", last.Month.String())
	}
	r.ID = id.New()
	last.Reopened = &r
	return last, nil
}

// Span is the first month with anything in it; false: there is none.
func (m *Months) Span() (first Month, some bool) {
	if len(m.closes) > 0 {
		return m.closes[0].Month, true
	}
	return m.FirstOpen()
}
