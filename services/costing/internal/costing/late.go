package costing

import (
	"maps"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Closed is up to when the shop's accounts are closed: the first instant of the first payroll week that is
// open, and of the first month. The zero instant: none was closed.
type Closed struct{ Paid, Booked time.Time }

// Before reports whether something that begins at an instant may change what is closed.
func (c Closed) Before(from time.Time) bool { return from.Before(c.Paid) || from.Before(c.Booked) }

// Late is what a rate, burden or rule changes of what is closed. That stays as it is, and the difference
// counts late.
type Late struct {
	Weeks  []time.Time  // the Mondays of locked weeks of which somebody's pay or its burden changes, in order
	Months []time.Time  // the first days of closed months of which an account changes, in order
	Pay    money.Amount // of both
	Burden money.Amount // on the pay
}

// None reports a change of nothing that is closed.
func (l Late) None() bool { return len(l.Weeks) == 0 && len(l.Months) == 0 }

// counted is what a week or month counts by itself, by its first day.
type counted struct {
	first   time.Time
	person  id.ID // of a week
	account Account
}

// Late is what the book changes of what is closed. Begins says of transactions, by their name, from when they
// count, where that may be in an earlier week than the end of the work by which they are dated.
func (b *Book) Late(c Closed, begins map[id.ID]time.Time) (l Late) {
	zone := b.rules.zone()
	weeks, months := map[counted]money.Amount{}, map[counted]money.Amount{}
	for _, t := range b.Transactions {
		at := t.OccurredAt
		if from, known := begins[t.ID]; known {
			at = earlier(at, from)
		}
		paid, booked := at.Before(c.Paid), t.OccurredAt.Before(c.Booked)
		for _, line := range t.Lines {
			pays := line.Account == WagesPayable || line.Account == BurdenPayable
			if paid && pays {
				weeks[counted{WeekOf(at.In(zone), zone).Monday, line.Person, line.Account}] += line.Amount
			}
			if booked {
				months[counted{MonthOf(t.OccurredAt.In(zone), zone).First, id.Nil, line.Account}] += line.Amount
			}
			if paid || booked {
				l.add(line)
			}
		}
	}
	l.Weeks, l.Months = changed(weeks), changed(months)
	return l
}

func (l *Late) add(line Line) {
	switch line.Account {
	case WagesPayable:
		l.Pay -= line.Amount
	case BurdenPayable:
		l.Burden -= line.Amount
	}
}

// changed are the first days of what does not come to nothing, in order.
func changed(sums map[counted]money.Amount) []time.Time {
	first := map[time.Time]bool{}
	for key, sum := range sums {
		if sum != 0 {
			first[key.first] = true
		}
	}
	return slices.SortedFunc(maps.Keys(first), time.Time.Compare)
}
