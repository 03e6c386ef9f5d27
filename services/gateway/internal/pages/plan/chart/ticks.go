package chart

import (
	"strings"
	"time"
)

// Tick is a mark above the lanes: a full hour, or where a day begins.
type Tick struct {
	X   int
	At  time.Time // by the clock of the shop
	Day bool
}

// Weekday is mon, tue …
func (t Tick) Weekday() string { return strings.ToLower(t.At.Format("Mon")) }

// steps are how many hours lie between marks; apart is how far marks are from each other at least.
var steps = []int{1, 2, 3, 4, 6, 12}

const (
	apart    = 60
	dayApart = 48
)

// ticks are the hours that lie in what is drawn to scale, and each day where it first is.
func (a Axis) ticks(zone *time.Location) (out []Tick) {
	step, day, dayX := a.step(), "", -dayApart
	for _, s := range a.Segments {
		if s.Folded {
			continue
		}
		for _, at := range append([]time.Time{s.From.In(zone)}, midnights(s, zone)...) {
			if name, x := at.Format(time.DateOnly), a.X(at); name != day && x-dayX >= dayApart {
				out, day, dayX = append(out, Tick{x, at, true}), name, x
			}
		}
		lastX := -apart
		for at := fullHour(s.From.In(zone)); at.Before(s.To); at = at.Add(time.Hour) {
			if x := a.X(at); at.Hour()%step == 0 && x-lastX >= apart && x+apart <= s.X+s.W {
				out, lastX = append(out, Tick{x, at, false}), x
			}
		}
	}
	return out
}

// midnights are those within a segment.
func midnights(s Segment, zone *time.Location) (out []time.Time) {
	first := s.From.In(zone)
	for i := 1; ; i++ {
		at := time.Date(first.Year(), first.Month(), first.Day()+i, 0, 0, 0, 0, zone)
		if !at.Before(s.To) {
			return out
		}
		out = append(out, at)
	}
}

func fullHour(local time.Time) time.Time {
	if rest := time.Duration(local.Minute())*time.Minute + time.Duration(local.Second())*time.Second + time.Duration(local.Nanosecond()); rest > 0 {
		return local.Add(time.Hour - rest)
	}
	return local
}

// step is the least number of hours that takes enough room.
func (a Axis) step() int {
	room, scaled := 0, time.Duration(0)
	for _, s := range a.Segments {
		if !s.Folded {
			room, scaled = room+s.W, scaled+s.To.Sub(s.From)
		}
	}
	for _, s := range steps {
		if int64(room)*int64(time.Duration(s)*time.Hour/time.Second) >= apart*int64(max(scaled, time.Hour)/time.Second) {
			return s
		}
	}
	return steps[len(steps)-1]
}
