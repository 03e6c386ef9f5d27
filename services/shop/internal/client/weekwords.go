package client

import (
	"fmt"
	"slices"
	"strings"
	"time"

	datev1 "google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"

	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// writeWeek writes days of the week with what holds on them, days that are alike and follow
// each other as one range; none is an empty text.
func writeWeek[D any](days []D, of func(D) dayofweek.DayOfWeek, hours func(D) string) string {
	days = slices.SortedFunc(slices.Values(days), func(a, b D) int { return int(of(a)) - int(of(b)) })
	var out []string
	for first := 0; first < len(days); {
		last := first
		for last+1 < len(days) && of(days[last+1]) == of(days[last])+1 && hours(days[last+1]) == hours(days[first]) {
			last++
		}
		name := weekdays[of(days[first])-1]
		if last > first {
			name += "-" + weekdays[of(days[last])-1]
		}
		out = append(out, name+" "+hours(days[first]))
		first = last + 1
	}
	return strings.Join(out, "; ")
}

// WriteWorks writes when somebody works as WorkingDays reads it, with the breaks behind the hours.
func WriteWorks(days []*workflowv1.WorkingDay) string {
	return writeWeek(days, (*workflowv1.WorkingDay).GetDay, func(d *workflowv1.WorkingDay) string {
		text := writeHours(d.Start, d.End)
		for _, b := range d.Breaks {
			text += ", break " + writeHours(b.Start, b.End)
		}
		return text
	})
}

// WriteOpen writes when a station is open, as OpenHours reads it.
func WriteOpen(hours []*workflowv1.Station_OpenHours) string {
	return writeWeek(hours, (*workflowv1.Station_OpenHours).GetDay, func(h *workflowv1.Station_OpenHours) string { return writeHours(h.Opens, h.Closes) })
}

func writeHours(from, to *timeofday.TimeOfDay) string {
	return fmt.Sprintf("%02d:%02d-%02d:%02d", from.GetHours(), from.GetMinutes(), to.GetHours(), to.GetMinutes())
}

// WriteDay writes a calendar day as it is typed; absent is an empty text.
func WriteDay(d *datev1.Date) string {
	if d == nil {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}

// WriteOff writes days on which somebody is away, as DaysOff reads them.
func WriteOff(days []*workflowv1.DayOff) string {
	var all []string
	for _, d := range days {
		text := WriteDay(d.FirstDate)
		if last := WriteDay(d.LastDate); last != "" && last != text {
			text += ".." + last
		}
		if d.Reason != "" {
			text += "=" + d.Reason
		}
		all = append(all, text)
	}
	return strings.Join(all, ", ")
}

// Day reads a calendar day such as 2026-03-02; none stays absent.
func Day(text string) (*datev1.Date, error) {
	if text == "" {
		return nil, nil
	}
	t, err := time.Parse("2006-01-02", text)
	if err != nil {
		return nil, fmt.Errorf("%q is not a day such as 2026-03-02", text)
	}
	return wire.ToDay(t), nil
}

// WriteMonth writes the month of a day as it is typed; absent is an empty text.
func WriteMonth(d *datev1.Date) string {
	if d == nil {
		return ""
	}
	return fmt.Sprintf("%04d-%02d", d.Year, d.Month)
}

// Month reads a month such as 2026-03 as its first day; an empty text is absent.
func Month(text string) (*datev1.Date, error) {
	if text == "" {
		return nil, nil
	}
	t, err := time.Parse("2006-01", text)
	if err != nil {
		return nil, fmt.Errorf("%q is not a month such as 2026-03", text)
	}
	return wire.ToDay(t), nil
}
