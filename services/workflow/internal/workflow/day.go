package workflow

import "time"

// DayBetween are the instants between which a day, a midnight in UTC, lies by the clock of a
// zone, the last not included: 24 hours, but 23 or 25 on the days on which clocks are moved.
func DayBetween(day time.Time, zone *time.Location) (from, to time.Time) {
	from, _ = shown(day, 0, zone)
	to, _ = shown(day.AddDate(0, 0, 1), 0, zone)
	return from, to
}

// Today is the day of an instant in its own zone, as midnight in UTC.
func Today(now time.Time) time.Time { return dayOf(now) }

// Worked is the time of entries that lies between two instants: of labour on pieces, and on
// what belongs to no piece. A clock that runs counts until now.
func Worked(entries []Entry, from, to, now time.Time) (labour, indirect time.Duration) {
	for _, e := range entries {
		begin, end := latest(from, e.Start), e.End
		if e.Open() {
			end = now
		}
		if end.After(to) {
			end = to
		}
		switch length := max(0, end.Sub(begin)); {
		case e.Indirect != "":
			indirect += length
		default:
			labour += length
		}
	}
	return labour, indirect
}
