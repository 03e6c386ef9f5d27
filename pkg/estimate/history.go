package estimate

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Default is what is believed of a kind of stage before anybody has done it here.
type Default struct {
	MinutesPerUnit float64 // median, for one unit of size
	Exponent       float64 // of the size: 1 in proportion; less, for part of it is setting up
}

// The spreads that are believed before there are data, of the logarithm. Common practice:
// a default is good to a factor of about two, people differ by about a quarter, and the
// same person by about a third from one time to the next.
const (
	defaultVariance = 0.5
	personVariance  = 0.06
	chanceVariance  = 0.12
	// The weight of those beliefs, in observations.
	beliefWeight = 8
)

// History is how long stages took, in sums that one more observation changes in constant
// time. The zero History is empty. It is not safe for use by several goroutines at once.
type History struct{ kinds map[string]*kind }

// kind holds the sums of a kind of stage. y is the logarithm of a time less the share of
// its size.
type kind struct {
	Default
	n       int
	sum     float64 // of y
	squares float64 // of y
	people  map[string]*person
	means   float64 // over people, their sum squared by their number
	counts  float64 // over people, their number squared
}

type person struct {
	n   int
	sum float64
}

// Define says what is believed of a kind of stage; what was observed of it stays. Faults:
// OUT_OF_RANGE, KIND_HAS_DATA when the exponent changes under observations.
func (h *History) Define(name string, d Default) error {
	if err := dimension.Within("minutes per unit", d.MinutesPerUnit, minMinutes, maxMinutes, "min"); err != nil {
		return err
	}
	if err := dimension.Within("exponent", d.Exponent, 0, 2, ""); err != nil {
		return err
	}
	if h.kinds == nil {
		h.kinds = map[string]*kind{}
	}
	k := h.kinds[name]
	if k == nil {
		k = &kind{people: map[string]*person{}}
		h.kinds[name] = k
	}
	if k.n > 0 && k.Exponent != d.Exponent {
		return fault.New(fault.Precondition, "KIND_HAS_DATA", "%s has been observed with exponent %v; start a new history to change it.", name, k.Exponent)
	}
	k.Default = d
	return nil
}

// Observe adds how long (minutes, above 0) somebody took for a stage of a size (above 0).
// Faults: OUT_OF_RANGE, KIND_UNKNOWN.
func (h *History) Observe(name, who string, size, minutes float64) error {
	k, err := h.find(name, size)
	if err != nil {
		return err
	}
	if err := dimension.Within("minutes", minutes, minMinutes, maxMinutes, "min"); err != nil {
		return err
	}
	y := math.Log(minutes) - k.Exponent*math.Log(size)
	k.add(who, Sums{N: 1, Sum: y, Squares: y * y})
	return nil
}

// Sums are what a person's observations of a kind come to: their number, and the sums of y
// and of its square, where y is the logarithm of a time less the share of its size.
type Sums struct {
	N            int
	Sum, Squares float64
}

// farthest is further out than any y: the times, sizes and exponents that are taken come to
// 43 at most.
const farthest = 50

// Restore adds observations of a kind by their sums, such as were kept: the same as to
// observe them one by one. Faults: OUT_OF_RANGE, KIND_UNKNOWN.
func (h *History) Restore(name, who string, s Sums) error {
	k, err := h.find(name, 1)
	if err != nil {
		return err
	}
	if err := dimension.Within("observations", float64(s.N), 1, math.MaxInt32, ""); err != nil {
		return err
	}
	n := float64(s.N)
	if err := dimension.Within("sum of the observations", s.Sum, -farthest*n, farthest*n, ""); err != nil {
		return err
	}
	// Of n values the squares sum up to at least the sum's square by n, but for rounding.
	if err := dimension.Within("squares of the observations", s.Squares, s.Sum*s.Sum/n*(1-1e-9)-1e-9, math.MaxFloat64, ""); err != nil {
		return err
	}
	k.add(who, s)
	return nil
}

func (k *kind) add(who string, s Sums) {
	p := k.people[who]
	if p == nil {
		p = &person{}
		k.people[who] = p
	}
	k.means -= p.term()
	k.counts -= float64(p.n) * float64(p.n)
	p.n, p.sum = p.n+s.N, p.sum+s.Sum
	k.means += p.term()
	k.counts += float64(p.n) * float64(p.n)
	k.n, k.sum, k.squares = k.n+s.N, k.sum+s.Sum, k.squares+s.Squares
}

func (p *person) term() float64 {
	if p.n == 0 {
		return 0
	}
	return p.sum * p.sum / float64(p.n)
}

func (h *History) find(name string, size float64) (*kind, error) {
	k := h.kinds[name]
	if k == nil {
		return nil, fault.New(fault.NotFound, "KIND_UNKNOWN", "Nothing is known of stages of kind %q; define it first.", name).At("kind")
	}
	return k, dimension.Within("size", size, 1e-6, 1e6, "")
}

// Forecast is the time that somebody will take for a stage of a size; who may be somebody
// new, or empty for whoever it will be. Faults: OUT_OF_RANGE, KIND_UNKNOWN.
func (h *History) Forecast(name, who string, size float64) (LogNormal, error) {
	t, err := h.Task(name, who, size)
	return t.LogNormal, err
}

// Task is Forecast with what the time has in common with those of other stages of the kind:
// the doubt in the kind's level, by as much as somebody's own doing does not tell better.
// Faults: OUT_OF_RANGE, KIND_UNKNOWN.
func (h *History) Task(name, who string, size float64) (Task, error) {
	k, err := h.find(name, size)
	if err != nil {
		return Task{}, err
	}
	chance, between := k.variances()
	level := k.level(chance, between)
	own := Normal{level.Mean, between}
	if p := k.people[who]; p != nil {
		own = own.posterior(p.sum/float64(p.n), p.n, chance)
	}
	// The level's own doubt carries over by as much as the person still leans on it.
	lean := own.Variance / between
	shared := lean * lean * level.Variance
	sigma := math.Min(math.Sqrt(chance+own.Variance+shared), maxSigma)
	return Task{LogNormal: LogNormal{Mu: own.Mean + k.Exponent*math.Log(size), Sigma: sigma}, Kind: name, Shared: math.Min(shared, sigma*sigma)}, nil
}

// level is what is believed of the kind: the default drawn toward the mean of what was
// observed, which counts by as many independent people as there were.
func (k *kind) level(chance, between float64) Normal {
	prior := Normal{math.Log(k.MinutesPerUnit), defaultVariance}
	if k.n == 0 {
		return prior
	}
	n := float64(k.n)
	variance := chance/n + between*k.counts/(n*n) // of the mean of all observations
	return prior.posterior(k.sum/n, 1, variance)
}

// variances are the variance of chance and that between people: moments of what was
// observed (one-way analysis of variance with unequal numbers), mixed with what is
// believed beforehand.
func (k *kind) variances() (chance, between float64) {
	n, people := float64(k.n), float64(len(k.people))
	within := math.Max(0, k.squares-k.means)
	chance = (beliefWeight*chanceVariance + within) / (beliefWeight + math.Max(0, n-people))
	if people < 2 {
		return chance, personVariance
	}
	apart := k.means - k.sum*k.sum/n - (people-1)*chance
	found := math.Max(0, apart/(n-k.counts/n))
	return chance, (beliefWeight*personVariance + (people-1)*found) / (beliefWeight + people - 1)
}
