package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
)

// PayRule is what the shop pays by from a workweek on: overtime, paid breaks, rounding of the clock.
type PayRule struct {
	ID     id.ID
	Monday time.Time // the calendar day on which its first week begins
	labour.Rule
	Actor      string
	RecordedAt time.Time
}

// SetPayRules tells the terms what the shop pays by.
func (t *Terms) SetPayRules(rules []PayRule) {
	t.payRules = slices.SortedFunc(slices.Values(rules), func(a, b PayRule) int {
		return cmp.Or(a.Monday.Compare(b.Monday), a.RecordedAt.Compare(b.RecordedAt), id.Compare(a.ID, b.ID))
	})
}

// PayRule is the rule of a week: the one that began last, of two that begin together the one
// recorded later; false before the first.
func (t *Terms) PayRule(w Week) (rule PayRule, found bool) {
	for _, r := range t.payRules {
		if r.Monday.After(w.Monday) {
			break
		}
		rule, found = r, true
	}
	return rule, found
}

// now prices a person's time by all terms that are known.
func (t *Terms) now(person id.ID) *pricing { return t.pricing(person, len(t.Of(person))) }

// burdenOn is the burden on pay that is due at an instant, rounded once.
func (p *pricing) burdenOn(pay money.Amount, at time.Time) money.Amount {
	return money.MulDiv(pay, valueAt(p.burden, at), millionths)
}

// valueAt is what holds at an instant; before the first step nothing does.
func valueAt(steps []step, at time.Time) (value int64) {
	for _, s := range steps {
		if s.from.After(at) {
			break
		}
		value = s.value
	}
	return value
}
