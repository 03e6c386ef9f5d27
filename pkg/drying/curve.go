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
// reading, over time. One curve serves all films of one kinetics in one place.
type Curve struct {
	at    []time.Time
	rates []float64
	doses []float64 // hours, up to each instant
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
		c.add(r.At, l.rate(r.Air))
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

func (c *Curve) add(at time.Time, rate float64) {
	dose := 0.0
	if n := len(c.at); n > 0 {
		dose = c.doses[n-1] + at.Sub(c.at[n-1]).Hours()*(rate+c.rates[n-1])/2
	}
	c.at, c.rates, c.doses = append(c.at, at), append(c.rates, rate), append(c.doses, dose)
}

// Last is the instant of the last reading.
func (c *Curve) Last() time.Time { return c.at[c.known-1] }

// until is the dose up to an instant; before the first point it is below 0.
func (c *Curve) until(at time.Time) float64 {
	i := sort.Search(len(c.at), func(i int) bool { return c.at[i].After(at) }) - 1
	if i < 0 {
		return at.Sub(c.at[0]).Hours() * c.rates[0]
	}
	hours := at.Sub(c.at[i]).Hours()
	if i == len(c.at)-1 {
		return c.doses[i] + hours*c.rates[i]
	}
	slope := (c.rates[i+1] - c.rates[i]) / c.at[i+1].Sub(c.at[i]).Hours()
	return c.doses[i] + hours*(c.rates[i]+hours*slope/2)
}

// Dose is what a film took up from one instant to another, hours: at least 0.
func (c *Curve) Dose(from, to time.Time) float64 {
	if !to.After(from) {
		return 0
	}
	return max(0, c.until(to)-c.until(from))
}

// forever is further ahead than any forecast means something, hours.
const forever = 10 * 365 * 24

// When is the instant at which a film that began to dry at from has taken up a dose; false
// if it will not within ten years.
func (c *Curve) When(from time.Time, dose float64) (time.Time, bool) {
	if dose <= 0 {
		return from, true
	}
	wanted := c.until(from) + dose
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
