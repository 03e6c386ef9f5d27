package costing

import (
	"time"

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
// booked before a close or after: what the close has counted is on its rows.
type Months struct {
	zone   *time.Location
	closes []Close               // in order
	before Figures               // all up to the end of the last closed month, as known now
	in     map[time.Time]Figures // what happened in open months, by their first day
}

// NewMonths makes it of the closes, in their order, and of what happened, in pieces of one month each
// (Add).
func NewMonths(closes []Close, zone *time.Location) *Months {
	return &Months{zone: zone, closes: closes, before: Figures{}, in: map[time.Time]Figures{}}
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

// Close is how a month was closed; nil: it is open, or lies before the first that was closed.
func (m *Months) Close(month Month) *Close {
	for i := range m.closes {
		if m.closes[i].Month.First.Equal(month.First) {
			return &m.closes[i]
		}
	}
	return nil
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

// Late is what closed months come to now beyond what their closes have counted.
func (m *Months) Late() Figures {
	late := Figures{}
	for account, amount := range m.before {
		late[account] = amount
	}
	for _, c := range m.closes {
		late.add(c.Counted, -1)
	}
	return late
}

// Of is what a month comes to: as it was closed, or what happened in it and, in the first that is
// open, what is late.
func (m *Months) Of(month Month) Figures {
	f := Figures{}
	if m.Closed(month) {
		if c := m.Close(month); c != nil {
			f.add(c.Counted, 1)
		}
		return f
	}
	f.add(m.in[month.First].Balances(), 1)
	if first, some := m.FirstOpen(); some && first.First.Equal(month.First) {
		f.add(m.Late().Balances(), 1)
	}
	return f
}

// Through is what several months come to, from the one to the other.
func (m *Months) Through(from, to Month) Figures {
	f := Figures{}
	for month := from; !month.First.After(to.First); month = month.Next(m.zone) {
		f.add(m.Of(month).Balances(), 1)
	}
	return f
}

// CountedBy is what accounts come to at an instant by closed months alone, and the instant from which on
// what happened is to be added. After the end of the last closed month that is all that happened,
// for what is late counts then.
func CountedBy(closes []Close, at time.Time) (counted Figures, since time.Time) {
	counted = Figures{}
	if n := len(closes); n == 0 || at.After(closes[n-1].Month.To) {
		return counted, since
	}
	for _, c := range closes {
		if !c.Month.To.After(at) {
			counted.add(c.Counted, 1)
			since = c.Month.To
		}
	}
	return counted, since
}

// Span is the first month with anything in it; false: there is none.
func (m *Months) Span() (first Month, some bool) {
	if len(m.closes) > 0 {
		return m.closes[0].Month, true
	}
	return m.FirstOpen()
}
