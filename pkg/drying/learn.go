package drying

import (
	"math"
	"slices"
)

// Interval is between which two logarithms of the factor that of a coat lies, by what was
// seen of it: −Inf and Inf are open.
type Interval struct{ Low, High float64 }

// anywhere is the interval of what nobody looked at.
var anywhere = Interval{math.Inf(-1), math.Inf(1)}

// both is where two intervals overlap; false where they contradict each other.
func (i Interval) both(other Interval) (Interval, bool) {
	i = Interval{math.Max(i.Low, other.Low), math.Min(i.High, other.High)}
	return i, i.Low < i.High
}

// ofCoat is what all sightings of a coat stand for together. Of two that contradict each
// other the later one holds.
func ofCoat(seen []Interval) Interval {
	out := anywhere
	for _, i := range slices.Backward(seen) {
		if narrower, agree := out.both(i); agree {
			out = narrower
		}
	}
	return out
}

// Learn is what is known of a product's factor from coats, of each what was seen of it,
// oldest first. Each coat counts once, however often somebody looked at it. One of which
// what was seen can hardly be by what the coats before it say, or that says nothing, is
// left out; Outcomes counts the others. Without any it is the usual belief.
func Learn(coats [][]Interval) Factor {
	b, learned := Factor{}.belief(), 0
	for _, seen := range coats {
		if i := ofCoat(seen); i != anywhere && b.given(i) {
			learned++
		}
	}
	if learned == 0 {
		return Factor{}.orPrior()
	}
	return b.factor(learned)
}

// grid is in how many places a belief is looked at, over six of its spreads each way.
const grid = 801

// belief is how likely each of some logarithms of the factor is, evenly apart; all together
// are 1.
type belief struct{ at, share [grid]float64 }

func (f Factor) belief() *belief {
	f = f.orPrior()
	b, sum := &belief{}, 0.0
	for i := range grid {
		d := 12 * (float64(i)/(grid-1) - 0.5)
		b.at[i], b.share[i] = f.LogMean+d*f.LogStdDev, math.Exp(-d*d/2)
		sum += b.share[i]
	}
	b.scale(sum)
	return b
}

func (b *belief) scale(sum float64) {
	for i := range b.share {
		b.share[i] /= sum
	}
}

// hardly is how likely something must be to be believed.
const hardly = 1e-14

// given multiplies the belief by how likely it makes what was seen of a coat; false, and as
// it was, when that can hardly be.
func (b *belief) given(seen Interval) bool {
	next, sum := b.share, 0.0
	for i, x := range b.at {
		if next[i] > 0 {
			next[i] *= interval((seen.Low-x)/jobStdDev, (seen.High-x)/jobStdDev)
		}
		sum += next[i]
	}
	if !(sum > hardly) {
		return false
	}
	b.share = next
	b.scale(sum)
	return true
}

// factor is the mean and the spread of the belief.
func (b *belief) factor(outcomes int) Factor {
	var mean, square float64
	for i, x := range b.at {
		mean += b.share[i] * x
	}
	for i, x := range b.at {
		square += b.share[i] * (x - mean) * (x - mean)
	}
	return Factor{LogMean: mean, LogStdDev: math.Sqrt(math.Max(1e-6, square)), Outcomes: outcomes}
}
