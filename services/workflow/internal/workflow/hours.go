package workflow

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/fault"
)

// MinuteOf is a time of day as minutes since midnight: 0 to 1439, and 1440 for 24:00, at which
// something can end. false: no clock shows it, or there is a fraction of a minute in it.
func MinuteOf(hours, minutes, seconds, nanos int32) (int, bool) {
	m := int(hours)*60 + int(minutes)
	whole := hours >= 0 && minutes >= 0 && minutes < 60 && seconds == 0 && nanos == 0
	return m, whole && m <= dayLong
}

// malformed is the refusal of hours in a field.
func malformed(field, format string, args ...any) error {
	return fault.New(fault.Invalid, "HOURS_MALFORMED", format, args...).At(field)
}

// checkWeek refuses hours, given in a field, that no week has. Fault: HOURS_MALFORMED.
func checkWeek(field string, week []WorkingDay) error {
	for i, w := range week {
		at := fmt.Sprintf("%s[%d]", field, i)
		if slices.ContainsFunc(week[:i], func(other WorkingDay) bool { return other.Weekday == w.Weekday }) {
			return malformed(at+".day", "There are two entries for %s; give it one.", w.Weekday)
		}
		if err := w.check(at); err != nil {
			return err
		}
	}
	return meets(field, week)
}

// check refuses a day whose hours no clock shows, or whose breaks are not in them.
func (w WorkingDay) check(at string) error {
	if !w.shown() {
		return malformed(at, "%s is from a time of the day to another, in whole minutes, such as 08:00 to 16:30.", w.Weekday)
	}
	whole := w.from(w.Start)
	var before []Hours
	for i, b := range w.Breaks {
		at := fmt.Sprintf("%s.breaks[%d]", at, i)
		if !b.shown() {
			return malformed(at, "A break on %s is from a time of the day to another, in whole minutes.", w.Weekday)
		}
		b = b.from(w.Start)
		if b.End > whole.End {
			return malformed(at, "The break from %s on %s is not within %s.", b, w.Weekday, whole)
		}
		if slices.ContainsFunc(before, func(o Hours) bool { return b.Start < o.End && o.Start < b.End }) {
			return malformed(at, "The break from %s on %s overlaps another one.", b, w.Weekday)
		}
		before = append(before, b)
	}
	return nil
}

// shown reports whether both are times that a clock shows; 24:00 only ends something.
func (h Hours) shown() bool {
	return h.Start >= 0 && h.Start < dayLong && h.End >= 0 && h.End <= dayLong
}

// meets refuses hours that go on when those of the next day have begun.
func meets(field string, week []WorkingDay) error {
	for i, w := range week {
		for _, next := range week {
			tomorrow := (w.Weekday + 1) % 7
			if end := w.from(w.Start).End; next.Weekday == tomorrow && end-dayLong > next.Start {
				return malformed(fmt.Sprintf("%s[%d]", field, i), "%s goes on until %s, when %s has begun at %s.", w.Weekday, clockOf(end), tomorrow, clockOf(next.Start))
			}
		}
	}
	return nil
}

// String is the hours as people write them: 08:00 to 16:30.
func (h Hours) String() string { return clockOf(h.Start) + " to " + clockOf(h.End) }

// clockOf is a minute as a clock shows it; past midnight it is that of the next day.
func clockOf(minute int) string {
	if minute > dayLong {
		minute -= dayLong
	}
	return fmt.Sprintf("%02d:%02d", minute/60, minute%60)
}

// checkDaysOff refuses days that end before they begin, or that nobody means. Faults:
// HOURS_MALFORMED, DATE_ABSURD.
func checkDaysOff(days []DayOff) error {
	for i, d := range days {
		at := fmt.Sprintf("days_off[%d]", i)
		if err := checkDay(at+".first_date", d.First); err != nil {
			return err
		}
		if err := checkDay(at+".last_date", d.Last); err != nil {
			return err
		}
		if d.Last.Before(d.First) {
			return malformed(at+".last_date", "The last day off, %s, is before the first, %s.", saidDay(d.Last), saidDay(d.First))
		}
	}
	return nil
}

// The first and the last day that anybody means who says when people are here.
var (
	firstDay = time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)
	lastDay  = time.Date(2099, time.December, 31, 0, 0, 0, 0, time.UTC)
)

// checkDay refuses a day that nobody means; the zero time is none. Fault: DATE_ABSURD.
func checkDay(field string, day time.Time) error {
	if !day.IsZero() && (day.Before(firstDay) || day.After(lastDay)) {
		return fault.New(fault.Invalid, "DATE_ABSURD", "%s is not between the years 2000 and 2099; check the date, or leave it out.", saidDay(day)).At(field)
	}
	return nil
}
