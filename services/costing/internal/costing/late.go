package costing

import (
	"maps"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Closed is what of the shop's accounts is closed since an instant. A week may be open before one that is
// locked: nobody had worked in it, as far as was known.
type Closed struct {
	Since  time.Time
	Weeks  map[time.Time]bool // the Mondays of those that are locked and end later
	Booked time.Time          // the first instant of the first month that is open; the zero instant: none was closed
}

// NewClosed says it of locked weeks that end after an instant, by their Mondays, and of the first month that is open.
func NewClosed(since time.Time, locked []time.Time, open Month) Closed {
	c := Closed{since, map[time.Time]bool{}, open.From}
	for _, monday := range locked {
		c.Weeks[monday] = true
	}
	return c
}

// Nothing reports that nothing is closed since then, so that nothing which begins then can change it.
func (c Closed) Nothing() bool { return len(c.Weeks) == 0 && !c.Since.Before(c.Booked) }

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

// owed is what somebody is owed more for a week, or the burden on it.
type owed struct {
	counted
	amount money.Amount
}

// Reprice books what the person's term number n (from 0, by when it was recorded) changes of a stretch, and
// notes what each week has of that.
func (b *Book) Reprice(s Stretch, t *Terms, n int) {
	tx, changes := s.Adjustment(b.rules, t, n)
	if !changes {
		return
	}
	b.Post(tx)
	before := s.paidInWeeks(t, n, b.rules.zone())
	for i, now := range s.paidInWeeks(t, n+1, b.rules.zone()) {
		diff := now.price.less(before[i].price)
		b.repriced[tx.ID] = append(b.repriced[tx.ID],
			owed{counted{now.week.Monday, s.Person, WagesPayable}, diff.Pay}, owed{counted{now.week.Monday, s.Person, BurdenPayable}, diff.Burden})
	}
}

// owes is what a transaction says that people are owed more, by week: of a stretch as noted, else of the week
// in which it is dated.
func (b *Book) owes(t Transaction) (all []owed) {
	if noted, known := b.repriced[t.ID]; known {
		return noted
	}
	zone := b.rules.zone()
	for _, l := range t.Lines {
		if l.Account == WagesPayable || l.Account == BurdenPayable {
			all = append(all, owed{counted{WeekOf(t.OccurredAt.In(zone), zone).Monday, l.Person, l.Account}, -l.Amount})
		}
	}
	return all
}

// Late is what the book changes of what is closed.
func (b *Book) Late(c Closed) (l Late) {
	zone := b.rules.zone()
	weeks, months := map[counted]money.Amount{}, map[counted]money.Amount{}
	for _, t := range b.Transactions {
		booked := t.OccurredAt.Before(c.Booked)
		for _, o := range b.owes(t) {
			if c.Weeks[o.first] {
				weeks[o.counted] += o.amount
			}
			if booked || c.Weeks[o.first] {
				l.add(o)
			}
		}
		for _, line := range t.Lines {
			if booked {
				months[counted{MonthOf(t.OccurredAt.In(zone), zone).First, id.Nil, line.Account}] += line.Amount
			}
		}
	}
	l.Weeks, l.Months = changed(weeks), changed(months)
	return l
}

func (l *Late) add(o owed) {
	if o.account == WagesPayable {
		l.Pay += o.amount
	} else {
		l.Burden += o.amount
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
