package advice

import (
	"math"
	"time"

	"tackfree/pkg/estimate"
)

// leastStand is the shortest time, in days, that a stretch counts for: an hour. What was sold as it was put up has
// one; one that nobody waited on tells nothing and is left out.
const leastStand = 1.0 / 24

// mostApart bounds how far the asked price may be from the likely one, as a logarithm: what is further off was
// mistyped.
const mostApart = 5.0

// spells are the stretches of one listing as the estimate takes them: days since it was put up, with
// what was asked against what was likely. Who dates a change back makes no stretch go backwards: it
// begins when the one before began. likely is false of a stretch of which nothing is known.
func (s Shop) spells(l listing, of Known, likely func(Stretch) (float64, bool)) (out []estimate.Spell) {
	put, reached := l[0].From, 0.0
	for _, x := range l {
		from := max(reached, daysFrom(put, x.From))
		to := max(from, daysFrom(put, s.end(x, of)))
		reached = to
		if x.Sold {
			to = max(to, from+leastStand)
		}
		price, known := likely(x)
		if to-from < leastStand || !known {
			continue
		}
		out = append(out, estimate.Spell{From: from, To: to, Sold: x.Sold,
			LogRatio: min(max(math.Log(float64(x.Asked)/price), -mostApart), mostApart)})
	}
	return out
}

// end is until when a stretch was seen: its end, or for one that runs until it was given up, or as long as the past was seen.
func (s Shop) end(x Stretch, of Known) time.Time {
	switch {
	case !x.To.IsZero():
		return x.To
	case !of.ScrappedAt.IsZero():
		return of.ScrappedAt
	}
	return s.Seen
}

func daysFrom(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 }
