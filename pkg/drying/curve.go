package drying

import (
	"math"
	"slices"
	"sort"
	"time"

	"tackfree/pkg/fault"
)

var errNoReadings = fault.New(fault.Precondition, "NO_READINGS", "There is no reading of the air to go by; enter one.").At("readings")

// Curve is the dose that a film at its reference thickness has taken up since the first
// reading, over time. One curve serves all films of one kinetics in one place. The zero
// Curve, or none, is of air that nobody read: a film takes up nothing in it.
type Curve struct {
	at    []time.Time
	rates []float64
	doses []float64 // hours, up to each instant
	// unread is as much of doses as was taken up in air that nobody read.
	unread []float64
	// known is how many of the points were read and not forecast.
	known int
}

// Trace makes the curve of readings, which may come in any order; of two at one instant the
// later one in the list holds. Between two readings, and over a gap, the rate goes straight
// from the one to the other; before the first and after the last it stays as it is there.
// Faults: NO_READINGS and those of Kinetics.Rate.
func Trace(k Kinetics, readings []Reading) (*Curve, error) {
	if len(readings) == 0 {
		return nil, errNoReadings
	}
	l, err := k.law()
	if err != nil {
		return nil, err
	}
	c := &Curve{}
	for _, r := range inOrder(readings) {
		if err := r.Air.Check(); err != nil {
			return nil, err
		}
		c.add(r.At, l.rate(r.Air), guessed)
	}
	c.known = len(c.at)
	return c, nil
}

// inOrder sorts by time and keeps the last of each instant.
func inOrder(readings []Reading) []Reading {
	sorted := slices.Clone(readings)
	slices.SortStableFunc(sorted, func(a, b Reading) int { return a.At.Compare(b.At) })
	var out []Reading
	for i, r := range sorted {
		if i+1 == len(sorted) || !sorted[i+1].At.Equal(r.At) {
			out = append(out, r)
		}
	}
	return out
}

// often is how far apart readings may be to tell of the air between them. Source:
// MIL-HDBK-1110, paragraph 9.6.6, which has the air read about every four hours.
const often = 4 * time.Hour

// guessed is the share of a stretch between two readings of which they do not tell.
func guessed(gap time.Duration) float64 { return math.Max(0, 1-float64(often)/float64(gap)) }

// nobodyRead is that share of a stretch that was forecast.
func nobodyRead(time.Duration) float64 { return 1 }

func (c *Curve) add(at time.Time, rate float64, unread func(time.Duration) float64) {
	dose, without := 0.0, 0.0
	if n := len(c.at); n > 0 {
		gap := at.Sub(c.at[n-1])
		more := gap.Hours() * (rate + c.rates[n-1]) / 2
		dose, without = c.doses[n-1]+more, c.unread[n-1]+more*unread(gap)
	}
	c.at, c.rates, c.doses, c.unread = append(c.at, at), append(c.rates, rate), append(c.doses, dose), append(c.unread, without)
}

func (c *Curve) empty() bool { return c == nil || len(c.at) == 0 }

// Last is the instant of the last reading; zero of the zero Curve.
func (c *Curve) Last() time.Time {
	if c.empty() {
		return time.Time{}
	}
	return c.at[c.known-1]
}

// until is the dose up to an instant, and how much of it in air that nobody read; before the
// first point both are below 0.
func (c *Curve) until(at time.Time) (dose, unread float64) {
	i := sort.Search(len(c.at), func(i int) bool { return c.at[i].After(at) }) - 1
	if i < 0 {
		dose = at.Sub(c.at[0]).Hours() * c.rates[0]
		return dose, dose
	}
	hours := at.Sub(c.at[i]).Hours()
	if i == len(c.at)-1 {
		more := hours * c.rates[i]
		return c.doses[i] + more, c.unread[i] + more
	}
	slope := (c.rates[i+1] - c.rates[i]) / c.at[i+1].Sub(c.at[i]).Hours()
	more, share := hours*(c.rates[i]+hours*slope/2), 0.0
	if all := c.doses[i+1] - c.doses[i]; all > 0 {
		share = (c.unread[i+1] - c.unread[i]) / all
	}
	return c.doses[i] + more, c.unread[i] + share*more
}

// Dose is what a film took up from one instant to another, in hours at the reference: at
// least 0.
func (c *Curve) Dose(from, to time.Time) float64 {
	dose, _ := c.between(from, to)
	return dose
}

// between is Dose, and how much of it was taken up in air that nobody read.
func (c *Curve) between(from, to time.Time) (dose, unread float64) {
	if c.empty() || !to.After(from) {
		return 0, 0
	}
	before, guess := c.until(from)
	after, more := c.until(to)
	return max(0, after-before), max(0, more-guess)
}

// forever is further ahead than any forecast means something, hours.
const forever = 10 * 365 * 24

// When is the instant at which a film that began to dry at from has taken up a dose (hours
// at the reference); false if it will not within ten years.
func (c *Curve) When(from time.Time, dose float64) (time.Time, bool) {
	if dose <= 0 {
		return from, true
	}
	if c.empty() {
		return time.Time{}, false
	}
	before, _ := c.until(from)
	wanted := before + dose
	i := sort.Search(len(c.at), func(i int) bool { return c.doses[i] >= wanted })
	start, hours := c.within(i, wanted)
	if !(hours+start.Sub(from).Hours() <= forever) {
		return time.Time{}, false
	}
	at := start.Add(time.Duration(math.Ceil(hours * float64(time.Hour))))
	if at.Before(from) { // by rounding
		return from, true
	}
	return at, true
}

// within solves for the dose in the stretch that ends at point i: a start, and the hours
// from there.
func (c *Curve) within(i int, wanted float64) (start time.Time, hours float64) {
	switch last := len(c.at) - 1; i {
	case 0:
		return c.at[0], wanted / c.rates[0]
	case last + 1:
		return c.at[last], (wanted - c.doses[last]) / c.rates[last]
	}
	need, rate := wanted-c.doses[i-1], c.rates[i-1]
	slope := (c.rates[i] - rate) / c.at[i].Sub(c.at[i-1]).Hours()
	// The root of rate h + slope h²/2 = need, in the form that loses nothing for a small slope.
	return c.at[i-1], 2 * need / (rate + math.Sqrt(math.Max(0, rate*rate+2*slope*need)))
}
