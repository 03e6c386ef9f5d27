package costing

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/id"
)

// tangle is where entries of somebody's contradict each other first.
type tangle struct {
	at   time.Time // zero: they do not
	says string
}

// or is the earlier of two; of two at one moment always the same one.
func (t tangle) or(u tangle) tangle {
	if t.at.IsZero() || !u.at.IsZero() && cmp.Or(u.at.Compare(t.at), cmp.Compare(u.says, t.says)) < 0 {
		return u
	}
	return t
}

// untangled is labour of which each moment counts once, and the first moment of the week that was told twice.
// Entries that contradict each other cannot all be right, and nobody knows which one is. Until that is
// corrected a moment counts for the entry that began first, of two that began together for the one with the
// smaller id; what was taken away and never was there counts for nothing. So a minute changes a minute, and
// in which order it all became known says nothing.
func untangled(stretches []Stretch, w Week, zone *time.Location) (out []Stretch, first tangle) {
	there, never := net(stretches)
	for _, s := range never {
		first = first.or(s.against(w, s.End, fmt.Sprintf("Work from %s on was taken away that was never booked.", clockOf(s.Start, zone))))
	}
	var longest Stretch // of those before
	for _, s := range there {
		if s.Start.Before(longest.End) {
			first = first.or(s.against(w, longest.End, fmt.Sprintf("Work begins at %s, before that which began at %s ends at %s.",
				clockOf(s.Start, zone), clockOf(longest.Start, zone), clockOf(longest.End, zone))))
		}
		if s.End.After(longest.End) {
			out, longest = append(out, s.since(longest.End)), s
		}
	}
	return out, first
}

// against is a tangle of the stretch with what ends at an instant, if it lies in the week.
func (s Stretch) against(w Week, end time.Time, says string) tangle {
	at := later(s.Start, w.From)
	if !at.Before(earlier(earlier(s.End, end), w.To)) {
		return tangle{}
	}
	return tangle{at, says}
}

// since is the stretch from an instant on; it costs what the whole costs less what it costs until then.
func (s Stretch) since(at time.Time) Stretch {
	if at.After(s.Start) {
		s.Whole, s.Start = s.Begin(), at
	}
	return s
}

func clockOf(t time.Time, zone *time.Location) string {
	return t.In(zone).Format("2006-01-02 15:04:05")
}

// sameLabour tells stretches apart: a correction takes away exactly what was there.
type sameLabour struct {
	entry, piece, stage id.ID
	rework              bool
	indirect            string
	start, end, begin   int64
}

// net leaves out what was taken away again, and what is shorter than a millisecond, and counts no time. What
// was taken away and never was there is told apart. Both are in one order always.
func net(stretches []Stretch) (there, never []Stretch) {
	left, of := map[sameLabour]int64{}, map[sameLabour]Stretch{}
	for _, s := range stretches {
		key := sameLabour{s.Entry, s.Piece, s.Stage, s.Rework, s.Indirect, s.Start.UnixMicro(), s.End.UnixMicro(), s.Begin().UnixMicro()}
		left[key] += s.Sign
		if known, seen := of[key]; !seen || s.Sign > 0 && s.Paused && !known.Paused {
			of[key] = s
		}
	}
	for key, n := range left {
		s := of[key]
		if s.Sign = 1; s.Time() == 0 {
			continue
		}
		for ; n > 0; n-- {
			there = append(there, s)
		}
		if n < 0 {
			never = append(never, s)
		}
	}
	slices.SortFunc(there, byStart)
	slices.SortFunc(never, byStart)
	return there, never
}

// byStart orders stretches so that no two differ and stand alike.
func byStart(a, b Stretch) int {
	return cmp.Or(a.Start.Compare(b.Start), id.Compare(a.Entry, b.Entry), a.End.Compare(b.End), id.Compare(a.Piece, b.Piece), id.Compare(a.Stage, b.Stage),
		cmp.Compare(a.Indirect, b.Indirect), a.Begin().Compare(b.Begin()), cmp.Compare(a.pass(), b.pass()))
}

// pass is 1 of a first pass, 2 of a later one.
func (s Stretch) pass() int {
	if s.Rework {
		return 2
	}
	return 1
}
