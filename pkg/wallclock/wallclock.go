// Package wallclock reads and writes times as the clock on the shop's wall shows them.
// Twice a year that clock is moved, so not all it could show is one instant:
//
//	spring   01:59:59 ─▶ 03:00:00     02:30 is never shown
//	autumn   01:59:59 ─▶ 01:00:00     01:30 is shown twice
//
// Such a time is refused, and must be given with its offset: an hour of somebody's labour
// depends on it. Plumbing.
package wallclock

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// offsets are the forms that name an instant in any zone.
var offsets = []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00"}

// walls are the forms that a clock shows.
var walls = []string{"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04"}

// Write writes an instant as the clock in zone shows it, with the zone's abbreviation of
// that day: 2026-03-02 08:00:00 CST.
func Write(t time.Time, zone *time.Location) string {
	return t.In(zone).Format("2006-01-02 15:04:05 MST")
}

// Read reads an instant: by the clock in zone, as 2026-03-02 08:00 or as Write writes it,
// or with an offset, as 2026-03-02T08:00:00-06:00.
func Read(text string, zone *time.Location) (time.Time, error) {
	for _, form := range offsets {
		if t, err := time.Parse(form, text); err == nil {
			return t, nil
		}
	}
	wall, abbreviation, ok := readWall(text)
	if !ok {
		return time.Time{}, fmt.Errorf("%q is not a time such as '2026-03-02 08:00'", text)
	}
	found := instants(wall, zone)
	if abbreviation != "" {
		found = slices.DeleteFunc(found, func(t time.Time) bool { return t.Format("MST") != abbreviation })
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return time.Time{}, fmt.Errorf("no clock in %s shows %s: they are put forward over it, or its zone is another; give an offset with it, as in %s",
			zone, text, later(wall, zone).Format(time.RFC3339))
	}
	return time.Time{}, fmt.Errorf("the clocks in %s show %s twice, for they are put back then; say which with its offset: %s or %s",
		zone, text, found[0].Format(time.RFC3339), found[1].Format(time.RFC3339))
}

// readWall reads what a clock shows, as if it were in UTC, and the abbreviation after it.
func readWall(text string) (wall time.Time, abbreviation string, ok bool) {
	if words := strings.Fields(text); len(words) == 3 {
		text, abbreviation = words[0]+" "+words[1], words[2]
	}
	for _, form := range walls {
		if t, err := time.Parse(form, text); err == nil {
			return t, abbreviation, true
		}
	}
	return wall, "", false
}

// instants are those at which the clock in zone shows wall, the earlier first.
func instants(wall time.Time, zone *time.Location) (found []time.Time) {
	for _, offset := range offsetsNear(wall, zone) {
		t := wall.Add(-offset).In(zone)
		if _, seconds := t.Zone(); time.Duration(seconds)*time.Second == offset {
			found = append(found, t)
		}
	}
	slices.SortFunc(found, time.Time.Compare)
	return found
}

// later is the instant, put by the offset before the change, of a time that is on no clock.
func later(wall time.Time, zone *time.Location) time.Time {
	return wall.Add(-slices.Min(offsetsNear(wall, zone))).In(zone)
}

// offsetsNear are the different offsets of zone about wall: that of a guess, and those
// before and after the changes on either side of it.
func offsetsNear(wall time.Time, zone *time.Location) (all []time.Duration) {
	guess := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), zone)
	near := []time.Time{guess}
	start, end := guess.ZoneBounds()
	if !start.IsZero() {
		near = append(near, start.Add(-time.Nanosecond))
	}
	if !end.IsZero() {
		near = append(near, end)
	}
	for _, t := range near {
		_, seconds := t.In(zone).Zone()
		if offset := time.Duration(seconds) * time.Second; !slices.Contains(all, offset) {
			all = append(all, offset)
		}
	}
	return all
}
