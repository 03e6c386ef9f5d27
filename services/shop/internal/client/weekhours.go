package client

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// weekdays are what people write for the days of the week, the first of them Monday.
var weekdays = []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

// hoursForm is how hours of the week are written.
const hoursForm = "mon-fri 08:00-16:30"

// stretch is from one time to another on some days of the week, by the shop's clock.
type stretch struct {
	days     []dayofweek.DayOfWeek // none: nobody said which
	from, to *timeofday.TimeOfDay
}

// readStretch reads [DAYS ]HH:MM-HH:MM, the days such as mon-fri or tue,thu,sat.
func readStretch(text string) (s stretch, err error) {
	wrong := fmt.Errorf("%q is not of the form '%s'", text, hoursForm)
	words := strings.Fields(strings.ToLower(text))
	if len(words) == 0 || len(words) > 2 {
		return s, wrong
	}
	from, to, both := strings.Cut(words[len(words)-1], "-")
	if !both {
		return s, wrong
	}
	if s.from, err = timeOfDay(from); err != nil {
		return s, wrong
	}
	if s.to, err = timeOfDay(to); err != nil {
		return s, wrong
	}
	if len(words) == 2 {
		s.days, err = readDays(words[0])
	}
	return s, err
}

func timeOfDay(text string) (*timeofday.TimeOfDay, error) {
	if text == "24:00" {
		return &timeofday.TimeOfDay{Hours: 24}, nil
	}
	t, err := time.Parse("15:04", text)
	return &timeofday.TimeOfDay{Hours: int32(t.Hour()), Minutes: int32(t.Minute())}, err
}

// readDays reads days of the week and ranges of them: mon-fri, or tue,thu,sat.
func readDays(text string) (days []dayofweek.DayOfWeek, err error) {
	for word := range strings.SplitSeq(text, ",") {
		first, last, ranged := strings.Cut(word, "-")
		if !ranged {
			last = first
		}
		from, to := slices.Index(weekdays, first), slices.Index(weekdays, last)
		if from < 0 || to < 0 {
			return nil, fmt.Errorf("%q is not a day of the week or a range of them; they are %s", word, strings.Join(weekdays, ", "))
		}
		for day := from; ; day = (day + 1) % len(weekdays) {
			days = append(days, dayofweek.DayOfWeek(day+1))
			if day == to {
				break
			}
		}
	}
	return days, nil
}

// readStretches reads hours of the week, each with its days; empty texts say none.
func readStretches(texts []string) (all []stretch, err error) {
	for _, text := range Said(texts) {
		s, err := readStretch(text)
		if err != nil {
			return nil, err
		}
		if len(s.days) == 0 {
			return nil, fmt.Errorf("%q does not say on which days; write it as '%s'", text, hoursForm)
		}
		all = append(all, s)
	}
	return all, nil
}

// Said are the texts that are not empty: an empty one takes all away.
func Said(texts []string) []string {
	return slices.DeleteFunc(slices.Clone(texts), func(s string) bool { return s == "" })
}

// OpenHours reads when a station is open.
func OpenHours(texts []string) (out []*workflowv1.Station_OpenHours, err error) {
	all, err := readStretches(texts)
	for _, s := range all {
		for _, day := range s.days {
			out = append(out, &workflowv1.Station_OpenHours{Day: day, Opens: s.from, Closes: s.to})
		}
	}
	return out, err
}

// WorkingDays reads when somebody works, and their breaks. A break that says no days is one
// on every day on which it lies in the hours.
func WorkingDays(works, breaks []string) (out []*workflowv1.WorkingDay, err error) {
	all, err := readStretches(works)
	if err != nil {
		return nil, err
	}
	for _, s := range all {
		for _, day := range s.days {
			out = append(out, &workflowv1.WorkingDay{Day: day, Start: s.from, End: s.to})
		}
	}
	for _, text := range Said(breaks) {
		pause, err := readStretch(text)
		if err != nil {
			return nil, err
		}
		if !addBreak(out, pause) {
			return nil, fmt.Errorf("the break %q lies on no day on which they work then", text)
		}
	}
	return out, nil
}

func addBreak(days []*workflowv1.WorkingDay, pause stretch) (added bool) {
	for _, d := range days {
		if slices.Contains(pause.days, d.Day) || len(pause.days) == 0 && within(d, pause) {
			d.Breaks = append(d.Breaks, &workflowv1.WorkingDay_Break{Start: pause.from, End: pause.to})
			added = true
		}
	}
	return added
}

// within reports whether a break lies in a day's hours, which may go over midnight.
func within(d *workflowv1.WorkingDay, pause stretch) bool {
	after := func(t *timeofday.TimeOfDay) int32 {
		return (t.Hours*60 + t.Minutes - d.Start.Hours*60 - d.Start.Minutes + 1440) % 1440
	}
	length := after(d.End)
	if length == 0 {
		length = 1440
	}
	return after(pause.from) < after(pause.to) && after(pause.to) <= length
}

// DaysOff reads days on which somebody is away, DAY[..DAY][=REASON]; empty texts say none.
func DaysOff(texts []string) (out []*workflowv1.DayOff, err error) {
	for _, text := range Said(texts) {
		days, reason, _ := strings.Cut(text, "=")
		first, last, _ := strings.Cut(days, "..")
		off := &workflowv1.DayOff{Reason: reason}
		if off.FirstDate, err = Day(first); err != nil {
			return nil, err
		}
		if off.FirstDate == nil {
			return nil, fmt.Errorf("%q is not of the form '2026-12-24..2026-12-26=reason'", text)
		}
		if off.LastDate, err = Day(last); err != nil {
			return nil, err
		}
		out = append(out, off)
	}
	return out, nil
}
