package costing

import (
	"strings"
	"time"

	"tackfree/pkg/money"
)

// Period is a time from an instant until another, without it.
type Period struct{ From, To time.Time }

// Ever is all of time that books are about.
func Ever() Period {
	return Period{time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)}
}

// PeriodOf is from the first instant of a calendar day to the last of another, by the clock of a
// zone; a day that is zero is none: from the beginning, until the end.
func PeriodOf(first, last time.Time, zone *time.Location) Period {
	p := Ever()
	if !first.IsZero() {
		p.From = midnight(first, 0, zone)
	}
	if !last.IsZero() {
		p.To = midnight(last, 1, zone)
	}
	return p
}

// DayOf is the day of a zone in which an instant lies.
func DayOf(at time.Time, zone *time.Location) Period {
	day := dayIn(at, zone)
	return PeriodOf(day, day, zone)
}

// midnight is the first instant of so many days after a calendar day.
func midnight(day time.Time, after int, zone *time.Location) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day()+after, 0, 0, 0, 0, zone).UTC()
}

// daysBetween counts the midnights of a zone between two instants; never below zero.
func daysBetween(from, to time.Time, zone *time.Location) int {
	return max(0, int(dayIn(to, zone).Sub(dayIn(from, zone))/(24*time.Hour)))
}

// Percent writes what part of a whole an amount is, with up to four digits after the point, rounded
// half to even; empty if the whole is nothing or less.
func Percent(part, whole money.Amount) string {
	if whole <= 0 {
		return ""
	}
	text := money.Currency{Digits: 4}.Format(money.MulDiv(part, millionths, int64(whole)))
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}
