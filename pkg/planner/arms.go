package planner

// arms are ways to try, each taken the more often the more it brought of late (Ropke and Pisinger,
// Transportation Science 40 (2006) 455-472).
type arms struct {
	weight, gain []float64
	tried        []float64
	turns        int
}

const (
	roundOfArms = 100 // tries until weights are set anew
	remember    = 0.9 // how much of what was counted before a round counts in the next
	leastWeight = 0.1 // of an arm that brings nothing
)

func newArms(n int) arms {
	a := arms{weight: make([]float64, n), gain: make([]float64, n), tried: make([]float64, n)}
	for i := range a.weight {
		a.weight[i] = 1
	}
	return a
}

func (a *arms) pick(d *dice) int {
	sum := 0.0
	for _, w := range a.weight {
		sum += w
	}
	x := d.share() * sum
	for i, w := range a.weight {
		if x -= w; x < 0 {
			return i
		}
	}
	return len(a.weight) - 1
}

// learn counts what an arm brought for an effort.
func (a *arms) learn(n int, gain, effort float64) {
	a.gain[n] += gain
	a.tried[n] += effort
	if a.turns++; a.turns%roundOfArms > 0 {
		return
	}
	most := 0.0
	for i := range a.gain {
		most = max(most, a.rate(i))
	}
	for i := range a.weight {
		if most > 0 {
			a.weight[i] = max(leastWeight, a.rate(i)/most)
		}
		a.gain[i] *= remember
		a.tried[i] *= remember
	}
}

func (a *arms) rate(i int) float64 { return a.gain[i] / (1 + a.tried[i]) }
