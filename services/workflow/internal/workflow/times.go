package workflow

import (
	"fmt"
	"time"
)

// said is an instant in words, in whatever zone it comes.
func said(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04 MST") }

// saidLike is an instant in words, in the zone of another that was asked for.
func saidLike(t, other time.Time) string { return said(t.In(other.Location())) }

// hours is a length of time as people write it: 24:30. What is begun of a minute counts,
// so that what is too long also looks it.
func hours(d time.Duration) string {
	minutes := int64((d + time.Minute - 1) / time.Minute)
	return fmt.Sprintf("%d:%02d", minutes/60, minutes%60)
}

// before tells whether a time lies before what it has to follow. People write times to
// the minute, and what they follow has its seconds: the very minute is not before.
func before(at, earliest time.Time) bool { return at.Before(earliest.Truncate(time.Minute)) }

// latest is the last of some instants.
func latest(at time.Time, others ...time.Time) time.Time {
	for _, t := range others {
		if t.After(at) {
			at = t
		}
	}
	return at
}
