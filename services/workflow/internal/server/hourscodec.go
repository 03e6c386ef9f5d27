package server

import (
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"

	"tackfree/pkg/fault"
	"tackfree/pkg/wire"
	"tackfree/services/workflow/internal/workflow"
)

// decodeHours reads times of day from two fields. Fault: HOURS_MALFORMED.
func decodeHours(start, end *timeofday.TimeOfDay, startField, endField string) (h workflow.Hours, err error) {
	if h.Start, err = decodeMinute(startField, start); err != nil {
		return h, err
	}
	h.End, err = decodeMinute(endField, end)
	return h, err
}

func decodeMinute(field string, t *timeofday.TimeOfDay) (int, error) {
	minute, shown := workflow.MinuteOf(t.GetHours(), t.GetMinutes(), t.GetSeconds(), t.GetNanos())
	if !shown {
		return 0, fault.New(fault.Invalid, "HOURS_MALFORMED", "%s is not a time of the day in whole minutes, such as 08:00.", fault.The(field)).At(field)
	}
	return minute, nil
}

func encodeMinute(minute int) *timeofday.TimeOfDay {
	return &timeofday.TimeOfDay{Hours: int32(minute / 60), Minutes: int32(minute % 60)}
}

// decodeWeekday reads a day of the week: theirs go from Monday, 1, to Sunday, 7.
func decodeWeekday(d dayofweek.DayOfWeek) time.Weekday { return time.Weekday(d % 7) }

func encodeWeekday(d time.Weekday) dayofweek.DayOfWeek {
	if d == time.Sunday {
		return dayofweek.DayOfWeek_SUNDAY
	}
	return dayofweek.DayOfWeek(d)
}

// encodeDay writes a day; the zero time is absent.
func encodeDay(day time.Time) *date.Date {
	if day.IsZero() {
		return nil
	}
	return wire.ToDay(day)
}
