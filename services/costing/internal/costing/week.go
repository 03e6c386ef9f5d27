package costing

import (
	"slices"
	"time"

	"tackfree/pkg/money"
)

// Week is a week of the payroll: Monday to Sunday by the shop's clock, so 167 or 169 hours
// long where that is moved within it.
type Week struct {
	Monday   time.Time // the calendar day
	From, To time.Time // its first instant, and that of the next week
}

// WeekOf is the week in which a calendar day lies.
func WeekOf(day time.Time, zone *time.Location) Week {
	y, m, d := day.Date()
	d -= (int(day.Weekday()) + 6) % 7
	begin := func(d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, zone).UTC() }
	return Week{Monday: time.Date(y, m, d, 0, 0, 0, 0, time.UTC), From: begin(d), To: begin(d + 7)}
}

// Next is the week after it.
func (w Week) Next(zone *time.Location) Week { return WeekOf(w.Monday.AddDate(0, 0, 7), zone) }

// Unlocked is the week itself or, if it is locked, the next one that is not; by the Mondays of those that are.
func (w Week) Unlocked(locked []time.Time, zone *time.Location) Week {
	for slices.ContainsFunc(locked, w.Monday.Equal) {
		w = w.Next(zone)
	}
	return w
}

// Since is the instant from which on labour matters to a week: its first one, or that of the
// locked weeks which come right before it and whose corrections count in it.
func Since(w Week, locks []PayLock, zone *time.Location) time.Time {
	locked := map[time.Time]bool{}
	for _, l := range locks {
		locked[l.Monday] = true
	}
	monday := w.Monday
	for before := monday.AddDate(0, 0, -7); locked[before]; before = before.AddDate(0, 0, -7) {
		monday = before
	}
	return WeekOf(monday, zone).From
}

// part is what of a stretch lies in one week; its time and price are signed as the stretch is.
type part struct {
	week     Week
	from, to time.Time
	time     time.Duration
	price    Price
}

// inWeeks cuts a stretch at the ends of weeks. What of it is shorter than a millisecond counts no time, and is
// no part.
func (s Stretch) inWeeks(zone *time.Location) (parts []part) {
	for w := WeekOf(s.Start.In(zone), zone); w.From.Before(s.End); w = w.Next(zone) {
		from, to := later(s.Start, w.From), earlier(s.End, w.To)
		if length := to.Sub(from).Truncate(time.Millisecond); length > 0 {
			parts = append(parts, part{week: w, from: from, to: to, time: time.Duration(s.Sign) * length})
		}
	}
	return parts
}

// paidInWeeks prices the parts by the first n of the person's terms. Each workweek stands alone (29 CFR
// 778.104): a part costs what its own time does, and no term that begins after its week changes that. So
// the first is rounded by itself, and each later one is what it brings the price of the stretch to,
// which they add up to. Local law may be another.
func (s Stretch) paidInWeeks(t *Terms, n int, zone *time.Location) []part {
	parts, p := s.inWeeks(zone), t.pricing(s.Person, n)
	so := p.price(s.StageKind, s.Begin(), s.Start)
	for i := range parts {
		until := parts[i].to
		if i == len(parts)-1 {
			until = s.End
		}
		come := p.price(s.StageKind, s.Begin(), until)
		parts[i].price, so = come.less(so).times(money.Amount(s.Sign)), come
	}
	return parts
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
