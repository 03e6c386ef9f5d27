package people

import (
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

// weekdays are the days of a week as forms and the catalogue have them, from Monday.
var weekdays = []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

func weekday(d *workflowv1.WorkingDay) string {
	if d.Day < dayofweek.DayOfWeek_MONDAY || d.Day > dayofweek.DayOfWeek_SUNDAY {
		return ""
	}
	return weekdays[d.Day-dayofweek.DayOfWeek_MONDAY]
}

// hoursText writes a working day as one line: 08:00-16:30 12:00-12:30, the breaks after the day.
func hoursText(d *workflowv1.WorkingDay) string {
	spans := []string{typed.Time(d.Start) + "-" + typed.Time(d.End)}
	for _, b := range d.Breaks {
		spans = append(spans, typed.Time(b.Start)+"-"+typed.Time(b.End))
	}
	return strings.Join(spans, " ")
}

// readHours reads such a line; nil: somebody does not work on that day.
func readHours(f *typed.Form, line string, day dayofweek.DayOfWeek) *workflowv1.WorkingDay {
	spans := strings.Fields(line)
	if len(spans) == 0 {
		return nil
	}
	d := &workflowv1.WorkingDay{Day: day}
	for i, s := range spans {
		from, to, _ := strings.Cut(s, "-")
		start, end := f.ATime(from), f.ATime(to)
		if start == nil || end == nil {
			f.Refuse("TIME_UNREADABLE", "typed.time", s)
			return nil
		}
		if i == 0 {
			d.Start, d.End = start, end
			continue
		}
		d.Breaks = append(d.Breaks, &workflowv1.WorkingDay_Break{Start: start, End: end})
	}
	return d
}

// typedHours makes such a line of what a form has of a day. Breaks may be parted by commas or blanks, and
// have blanks or a longer dash within.
func typedHours(start, end, breaks string) string {
	if start == "" && end == "" {
		return ""
	}
	breaks = strings.NewReplacer("–", "-", " - ", "-", ", ", " ", ",", " ", ";", " ").Replace(breaks)
	return strings.TrimSpace(start + "-" + end + " " + strings.Join(strings.Fields(breaks), " "))
}

// said writes somebody's week in words: days in a row that are alike are one.
func said(week []*workflowv1.WorkingDay, v *words.Voice) string {
	byDay := map[string]*workflowv1.WorkingDay{}
	for _, d := range week {
		byDay[weekday(d)] = d
	}
	var out []string
	for i := 0; i < len(weekdays); {
		d := byDay[weekdays[i]]
		last := i
		for last+1 < len(weekdays) && d != nil && byDay[weekdays[last+1]] != nil && hoursText(byDay[weekdays[last+1]]) == hoursText(d) {
			last++
		}
		if d != nil {
			out = append(out, days(i, last, v)+" "+clock(d.Start, v)+"–"+clock(d.End, v))
		}
		i = last + 1
	}
	return strings.Join(out, ", ")
}

func days(first, last int, v *words.Voice) string {
	if first == last {
		return v.T("weekday." + weekdays[first])
	}
	return v.T("weekday."+weekdays[first]) + "–" + v.T("weekday."+weekdays[last])
}

// clock writes a time of day by the reader's clock.
func clock(t *timeofday.TimeOfDay, v *words.Voice) string {
	return v.ClockOf(time.Date(2000, 1, 3, int(t.GetHours()), int(t.GetMinutes()), 0, 0, v.Zone))
}
