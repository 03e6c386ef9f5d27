package people

import (
	"google.golang.org/genproto/googleapis/type/timeofday"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// A week is drawn as seven slats of a fence, each a day from midnight at its top: stripWide by stripHigh.
const (
	slatWide  = 12
	slatGap   = 4
	stripWide = 7*(slatWide+slatGap) - slatGap
	stripHigh = 48
	aDay      = 24 * 60 // minutes
)

// slat is a stretch of work or of a break on a day.
type slat struct {
	X, Y, High int
	Break      bool
}

// strip draws somebody's week. What goes past midnight goes on at the top of the next day; from Sunday
// that is Monday.
func strip(week []*workflowv1.WorkingDay) (out []slat) {
	for _, d := range week {
		if weekday(d) == "" {
			continue
		}
		at := int(d.Day) - 1
		out = append(out, stretch(at, d.Start, d.End, false)...)
		for _, b := range d.Breaks {
			day := at
			if minutes(b.Start) < minutes(d.Start) { // a break after midnight
				day++
			}
			out = append(out, stretch(day, b.Start, b.End, true)...)
		}
	}
	return out
}

func stretch(day int, start, end *timeofday.TimeOfDay, pause bool) []slat {
	from, to := minutes(start), minutes(end)
	if to > from {
		return []slat{slatOf(day, from, to, pause)}
	}
	out := []slat{slatOf(day, from, aDay, pause)}
	if to > 0 {
		out = append(out, slatOf(day+1, 0, to, pause))
	}
	return out
}

func slatOf(day, from, to int, pause bool) slat {
	y := from * stripHigh / aDay
	return slat{X: day % 7 * (slatWide + slatGap), Y: y, High: max(1, to*stripHigh/aDay-y), Break: pause}
}

func minutes(t *timeofday.TimeOfDay) int { return int(t.GetHours())*60 + int(t.GetMinutes()) }
