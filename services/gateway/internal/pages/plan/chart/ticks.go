package chart

import "time"

// Tick is a mark above the lanes: a full hour, or where a day begins.
type Tick struct {
	X   int
	At  time.Time // by the clock of the shop
	Day bool
}

// steps are how many hours lie between marks; apart is how far marks are from each other at least.
var steps = []int{1, 2, 3, 4, 6, 12}

const (
	apart    = 46
	dayApart = 62
)

// ticks are the hours that lie in what is drawn to scale, and each day where its first hour is.
func (a Axis) ticks(zone *time.Location) (out []Tick) {
	step, day, dayX := a.step(), "", -dayApart
	for _, s := range a.Segments {
		if s.Folded {
			continue
		}
		lastX := -apart
		for at := fullHour(s.From.In(zone)); at.Before(s.To); at = at.Add(time.Hour) {
			x := a.X(at)
			if name := at.Format(time.DateOnly); name != day {
				day = name
				if x-dayX >= dayApart {
					out, dayX = append(out, Tick{x, at, true}), x
				}
			}
			if at.Hour()%step == 0 && x-lastX >= apart && x+apart/2 <= s.X+s.W {
				out, lastX = append(out, Tick{x, at, false}), x
			}
		}
	}
	return out
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
