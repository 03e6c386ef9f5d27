package materials

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// OilyWasteAlert reminds of oily waste that nobody said was put away.
const OilyWasteAlert AlertKind = "oily waste"

// OilyAlert reminds of all oily waste that is open, of some days in their order, until it was
// confirmed: that it is due once it is, and in stronger words once a night has come over it. One
// confirmation is for all of it, and so is one alert.
func OilyAlert(days []OilyDay, now time.Time, zone *time.Location) []Alert {
	if len(days) == 0 {
		return nil
	}
	first := days[0]
	due := first.Due(zone)
	day, by := first.Day.Format("Mon 2 Jan 2006"), due.In(zone).Format("15:04")
	text := fmt.Sprintf("Oily rags and waste of %s (%s) are to be put away by %s. %s", day, first.kinds(), by, OilyWasteCaution)
	switch {
	case overnight(first.Day, due, now, zone):
		text = fmt.Sprintf("URGENT: nobody said that the oily rags and waste of %s (%s) were put away, and a night has passed. Look for them now; if anything is warm, smells or smokes, get everybody out and call the fire department. %s",
			day, first.kinds(), OilyWasteCaution)
	case !now.Before(due):
		text = fmt.Sprintf("NOW DUE: nobody said that the oily rags and waste of %s (%s) were put away, which was to be by %s. Put them away before the last one leaves, and say so. %s", day, first.kinds(), by, OilyWasteCaution)
	}
	return []Alert{{Kind: OilyWasteAlert, Key: "open", Text: text, Due: due}}
}

// night is how long after what was due a night has passed: from six in the evening it is
// midnight. Common practice.
const night = 6 * time.Hour

// overnight reports whether a night has passed since waste was due, by the clock of a zone; after
// a late shift that is later than midnight.
func overnight(day, due, now time.Time, zone *time.Location) bool {
	return dayOf(now, zone).After(day) && !now.Before(due.Add(night))
}

// ShiftHours are when somebody works on a day of the week, from midnight by the shop's clock; an
// end that is not after the start is on the next day.
type ShiftHours struct{ Start, End time.Duration }

// ShiftEnd is when the shift ends of somebody who worked at an instant: that which it is in, or
// which is on its day, or that of the night before which they stayed after; zero: there is none.
func ShiftEnd(at time.Time, week map[time.Weekday]ShiftHours, zone *time.Location) time.Time {
	today := dayOf(at, zone)
	start, late := shiftOn(today.AddDate(0, 0, -1), week, zone)
	_, end := shiftOn(today, week, zone)
	switch {
	case !at.Before(start) && !at.After(late):
		return late.UTC()
	case !end.IsZero():
		return end.UTC()
	case late.After(start) && dayOf(late, zone).Equal(today):
		return late.UTC()
	}
	return time.Time{}
}

func shiftOn(day time.Time, week map[time.Weekday]ShiftHours, zone *time.Location) (start, end time.Time) {
	hours, works := week[day.Weekday()]
	if !works {
		return start, end
	}
	y, m, d := day.Date()
	clock := func(days int, of time.Duration) time.Time {
		return time.Date(y, m, d+days, 0, int(of/time.Minute), 0, 0, zone)
	}
	if hours.End <= hours.Start {
		return clock(0, hours.Start), clock(1, hours.End)
	}
	return clock(0, hours.Start), clock(0, hours.End)
}

// kinds names the stages, each kind once, in the order of their first work.
func (d OilyDay) kinds() string {
	var out []string
	for _, w := range d.Work {
		kind := cmp.Or(w.StageKind, "waste of the shop")
		if !slices.Contains(out, kind) {
			out = append(out, kind)
		}
	}
	return strings.Join(out, ", ")
}
