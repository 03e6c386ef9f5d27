package workflow

import "time"

// shown are the first and the last instant at which the clock of a zone shows a minute of a
// day, a midnight in UTC; minutes past 1439 are on the next. What is shown once is one
// instant. What is not shown, for the clock is put forward over it, is the instant at which
// that is done.
func shown(day time.Time, minute int, zone *time.Location) (first, last time.Time) {
	wall := day.Add(time.Duration(minute) * time.Minute)
	guess := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), 0, 0, zone)
	for _, offset := range offsetsAbout(guess) {
		t := wall.Add(-offset).In(zone)
		if offsetAt(t) != offset {
			continue
		}
		if first.IsZero() || t.Before(first) {
			first = t
		}
		last = latest(last, t)
	}
	if first.IsZero() {
		moved := movedOver(wall, guess)
		return moved, moved
	}
	return first, last
}

// offsetsAbout are the offsets from UTC at an instant and on either side of when clocks are
// moved before it and after it.
func offsetsAbout(t time.Time) []time.Duration {
	out := []time.Duration{offsetAt(t)}
	from, to := t.ZoneBounds()
	if !from.IsZero() {
		out = append(out, offsetAt(from.Add(-1)))
	}
	if !to.IsZero() {
		out = append(out, offsetAt(to))
	}
	return out
}

// movedOver is when the clock is put forward over a wall time: of the two times at which it is
// moved about a guess, the one that has passed by the offset before and has not by the one
// after.
func movedOver(wall, guess time.Time) time.Time {
	from, to := guess.ZoneBounds()
	if from.IsZero() || wall.Add(-offsetAt(from.Add(-1))).Before(from) || !wall.Add(-offsetAt(from)).Before(from) {
		return to
	}
	return from
}

func offsetAt(t time.Time) time.Duration {
	_, seconds := t.Zone()
	return time.Duration(seconds) * time.Second
}
