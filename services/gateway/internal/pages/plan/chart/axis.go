package chart

import (
	"slices"
	"tackfree/services/gateway/internal/instants"
	"time"
)

// Span is from when to when.
type Span struct{ From, To time.Time }

// Segment is a stretch of time and where it lies: X to X+W. A folded one has no work in it, and takes as
// little room whether it is a night or a weekend.
type Segment struct {
	Span
	X, W   int
	Folded bool
}

// Axis is time across, with nights folded. Its segments follow each other without a gap.
type Axis struct{ Segments []Segment }

// What is folded is at least foldFrom long, and foldWidth wide where there is room.
const (
	foldFrom  = 90 * time.Minute
	foldWidth = 18
)

// NewAxis lays what lies between two instants out from x over a width. Hours that touch something busy are
// drawn to scale, stretches between them are folded. With nothing busy all of it is to scale.
func NewAxis(within Span, busy []Span, x, width int) Axis {
	segments := cut(within, open(within, busy))
	folds, scaled := 0, time.Duration(0)
	for _, s := range segments {
		if s.Folded {
			folds++
		} else {
			scaled += s.To.Sub(s.From)
		}
	}
	fold := 0
	if folds > 0 {
		fold = max(1, min(foldWidth, width/2/folds))
	}
	lay(segments, x, width-folds*fold, fold, scaled)
	return Axis{segments}
}

// lay gives the segments their places: rounded from the whole, so that what is rounded never adds up.
func lay(segments []Segment, x, room, fold int, scaled time.Duration) {
	gone, folded := time.Duration(0), 0
	at := x
	for i := range segments {
		s := &segments[i]
		if s.Folded {
			folded++
		} else {
			gone += s.To.Sub(s.From)
		}
		end := x + folded*fold + int(int64(room)*int64(gone/time.Second)/max(1, int64(scaled/time.Second)))
		s.X, s.W = at, end-at
		at = end
	}
}

// open gives the full hours within which something is busy, in order and apart by what is worth folding.
func open(within Span, busy []Span) (out []Span) {
	busy = slices.SortedFunc(slices.Values(busy), func(a, b Span) int { return a.From.Compare(b.From) })
	for _, b := range busy {
		b = clip(hours(b), within)
		if !b.From.Before(b.To) {
			continue
		}
		if last := len(out) - 1; last >= 0 && b.From.Sub(out[last].To) < foldFrom {
			out[last].To = instants.Later(out[last].To, b.To)
			continue
		}
		out = append(out, b)
	}
	if len(out) == 0 {
		out = []Span{within}
	}
	return out
}

// hours widens a span to full hours.
func hours(s Span) Span {
	s.From = s.From.Truncate(time.Hour)
	if to := s.To.Truncate(time.Hour); to.Before(s.To) {
		s.To = to.Add(time.Hour)
	}
	return s
}

func clip(s, within Span) Span {
	return Span{instants.Later(s.From, within.From), instants.Earlier(s.To, within.To)}
}

// cut parts a span into what is open and what is folded between. What is shorter than a fold is worth at an
// end is left to scale.
func cut(within Span, open []Span) (out []Segment) {
	at := within.From
	for _, s := range append(open, Span{within.To, within.To}) {
		if gap := s.From.Sub(at); gap >= foldFrom {
			out = append(out, Segment{Span: Span{at, s.From}, Folded: true})
		} else if gap > 0 {
			s.From = at
		}
		if s.From.Before(s.To) {
			out = append(out, Segment{Span: s})
		}
		at = s.To
	}
	return out
}

// X is where an instant is; what lies outside is at the nearer end.
func (a Axis) X(at time.Time) int {
	first, last := a.Segments[0], a.Segments[len(a.Segments)-1]
	if !at.After(first.From) {
		return first.X
	}
	for _, s := range a.Segments {
		if at.Before(s.To) {
			return s.X + int(int64(s.W)*int64(at.Sub(s.From)/time.Second)/int64(max(s.To.Sub(s.From), time.Second)/time.Second))
		}
	}
	return last.X + last.W
}

// Span is from when to when the axis goes.
func (a Axis) Span() Span {
	return Span{a.Segments[0].From, a.Segments[len(a.Segments)-1].To}
}
