package costing

import "time"

// Month is a month of the calendar by the shop's clock.
type Month struct {
	First    time.Time // its first day
	From, To time.Time // its first instant, and that of the next month
}

// MonthOf is the month in which a calendar day lies.
func MonthOf(day time.Time, zone *time.Location) Month {
	y, m, _ := day.Date()
	begin := func(m time.Month) time.Time { return time.Date(y, m, 1, 0, 0, 0, 0, zone).UTC() }
	return Month{First: time.Date(y, m, 1, 0, 0, 0, 0, time.UTC), From: begin(m), To: begin(m + 1)}
}

// Next is the month after it.
func (m Month) Next(zone *time.Location) Month { return MonthOf(m.First.AddDate(0, 1, 0), zone) }

// String names it as 2026-03.
func (m Month) String() string { return m.First.Format("2006-01") }
