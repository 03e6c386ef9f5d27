package workflow

import "time"

// WorkingDay is when somebody works on one day of the week, or a station is open, by the
// shop's clock.
type WorkingDay struct {
	Weekday time.Weekday `json:"weekday"`
	Hours
	Breaks []Hours `json:"breaks,omitempty"`
}

// Hours are from one minute of the day to another; an end that is not after the start is on
// the next day.
type Hours struct {
	Start int `json:"start"` // minutes since midnight, 0 to 1439
	End   int `json:"end"`
}

// DayOff are days on which somebody is away, the first and the last included.
type DayOff struct {
	First  time.Time `json:"first"` // midnight in UTC of the day
	Last   time.Time `json:"last"`
	Reason string    `json:"reason,omitempty"`
}

// dayOf is the day of an instant in its own zone, as midnight in UTC.
func dayOf(at time.Time) time.Time {
	y, m, d := at.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// saidDay is a day in words.
func saidDay(day time.Time) string { return day.Format("Mon 2 Jan 2006") }
