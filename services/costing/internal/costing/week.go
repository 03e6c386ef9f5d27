package costing

import (
	"time"

	"tackfree/pkg/apportion"
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

// inWeeks cuts a stretch at the ends of weeks, and splits its price by the time in each.
func (s Stretch) inWeeks(price Price, zone *time.Location) []part {
	var parts []part
	var weights []int64
	for w := WeekOf(s.Start.In(zone), zone); w.From.Before(s.End); w = w.Next(zone) {
		from, to := later(s.Start, w.From), earlier(s.End, w.To)
		if length := to.Sub(from).Truncate(time.Millisecond); length > 0 {
			parts = append(parts, part{week: w, from: from, to: to, time: time.Duration(s.Sign) * length})
			weights = append(weights, length.Milliseconds())
		}
	}
	price = price.times(money.Amount(s.Sign))
	for i, pay := range apportion.Split(price.Pay, weights) {
		parts[i].price.Pay = pay
	}
	for i, burden := range apportion.Split(price.Burden, weights) {
		parts[i].price.Burden = burden
	}
	return parts
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
