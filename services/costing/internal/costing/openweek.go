package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
)

// Uncertain is time of somebody's of which the books do not know all, or contradicting things.
type Uncertain struct {
	Person     id.ID
	PersonName string
	From, To   time.Time
	Tangled    bool // entries contradict each other from then on; else hours are not booked, or wait for the lead
}

// OpenWeek is a workweek of which not all is certain, so that the overtime of whoever worked in it may still
// change what a piece costs.
type OpenWeek struct {
	Week
	Person     id.ID // id.Nil: everybody, for it is not over
	PersonName string
	Tangled    time.Time // from when on entries contradict each other; zero: hours are not all booked
}

// longest is how long somebody may be at work without clocking off. Who seems to be for longer has forgotten the
// clock: their hours belong near its beginning. Common practice.
const longest = 7 * 24 * time.Hour

// OpenWeeks lists them, in one order always: the week of an instant, which is not over, and those of before of which
// something is uncertain, once each. But for entries that contradict each other only weeks count in which pieces bear a
// premium of overtime by the pay rules.
func OpenWeeks(rules []PayRule, uncertain []Uncertain, now time.Time, zone *time.Location) (all []OpenWeek) {
	terms := &Terms{}
	terms.SetPayRules(rules)
	current, since := WeekOf(now.In(zone), zone), now
	for _, r := range rules {
		since = earlier(since, WeekOf(r.Monday, zone).From)
	}
	if terms.premiumIn(current) {
		all = append(all, OpenWeek{Week: current})
	}
	for _, u := range uncertain {
		if u.Tangled {
			all = append(all, OpenWeek{WeekOf(u.From.In(zone), zone), u.Person, u.PersonName, u.From})
			continue
		}
		to := earlier(u.To, u.From.Add(longest))
		for w := WeekOf(later(u.From, since).In(zone), zone); w.From.Before(current.From) && !w.From.After(to); w = w.Next(zone) {
			if terms.premiumIn(w) {
				all = append(all, OpenWeek{w, u.Person, u.PersonName, time.Time{}})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b OpenWeek) int {
		return cmp.Or(a.Monday.Compare(b.Monday), cmp.Compare(a.PersonName, b.PersonName), id.Compare(a.Person, b.Person), b.Tangled.Compare(a.Tangled))
	})
	return slices.CompactFunc(all, func(next, before OpenWeek) bool {
		return next.Person == before.Person && next.Monday.Equal(before.Monday) && next.Tangled.IsZero()
	})
}

// premiumIn reports whether overtime of a week is a cost of pieces.
func (t *Terms) premiumIn(w Week) bool {
	r, _ := t.PayRule(w)
	return !r.ToOverhead && (r.WeeklyAfter > 0 || r.DailyAfter > 0)
}
