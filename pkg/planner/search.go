package planner

import (
	"math/rand/v2"
	"slices"
	"sync"
)

// search is several walks and the best they found.
type search struct {
	c *compiled
	n *network
	o Options

	seeks     bool   // places for what has none are sought
	first     *floor // as at the start
	anew      float64
	still     []bool
	published *published
	left      []Unplaced
	bound     [4]float64

	chains   []*chain
	best     []place
	bestSums [4]float64

	telling  sync.Mutex
	improved func(Improvement)
	told     [4]float64
	toldAt   float64
	tried    int
}

const (
	segments     = 12   // parts of the way after which the walks compare what they have
	exchangeEach = 3    // after so many of them all go on from the best
	dispatchPart = 0.12 // of the way for plans from nothing, where there is none at the start
	tellEach     = 0.01 // of the way between two plans that are told
)

// run walks, one segment after the other.
func (s *search) run() {
	for i := range s.o.Cores {
		ch := newChain(s.first.clone(), s.n, s.o.Aims, s.published, s.still)
		ch.PCG, ch.anew = *rand.NewPCG(s.o.Seed, uint64(i)), s.anew
		s.chains = append(s.chains, ch)
	}
	s.best, s.bestSums = slices.Clone(s.chains[0].best), s.chains[0].bestSums
	s.tell(s.best, s.bestSums, 0)
	for i := 0; len(s.c.blocks) > 0 && i < segments && !s.over() && !s.proven(); i++ {
		var all sync.WaitGroup
		for _, ch := range s.chains {
			all.Go(func() { ch.walk(float64(i)/segments, float64(i+1)/segments, s.gone(ch, i)) })
		}
		all.Wait()
		s.compare(float64(i+1) / segments)
		if i%exchangeEach == exchangeEach-1 {
			s.exchange()
		}
	}
}

// over tells whether the budget ended.
func (s *search) over() bool { return s.o.Budget != nil && s.o.Budget() >= 1 }

// gone gives how much of a segment is gone, by iterations or by the budget, and meanwhile tells of what is better.
func (s *search) gone(ch *chain, segment int) func(int) float64 {
	each := s.o.Iterations*(segment+1)/segments - s.o.Iterations*segment/segments
	begin := 0.0
	if s.o.Iterations == 0 {
		begin = s.o.Budget()
	}
	until := begin + (1-begin)/float64(segments-segment)
	return func(n int) (part float64) {
		if s.over() {
			return 1
		}
		if part = float64(n) / max(0.5, float64(each)); s.o.Iterations == 0 {
			part = (s.o.Budget() - begin) / (until - begin)
		}
		s.announce(ch, (float64(segment)+part)/segments)
		return part
	}
}

// announce tells of the best of a walk while it goes on.
func (s *search) announce(ch *chain, at float64) {
	s.telling.Lock()
	defer s.telling.Unlock()
	if at-s.toldAt >= tellEach && less(s.o.Aims, ch.bestSums, s.told) {
		s.tell(ch.best, ch.bestSums, at)
	}
}

// compare keeps the best plan of all walks.
func (s *search) compare(at float64) {
	for _, ch := range s.chains {
		s.tried += ch.steps
		ch.steps = 0
		if less(s.o.Aims, ch.bestSums, s.bestSums) {
			s.best, s.bestSums = append(s.best[:0], ch.best...), ch.bestSums
		}
	}
	if less(s.o.Aims, s.bestSums, s.told) {
		s.tell(s.best, s.bestSums, at)
	}
}

// exchange has all walks go on from the best.
func (s *search) exchange() {
	for _, ch := range s.chains {
		if less(s.o.Aims, s.bestSums, ch.sums) {
			ch.adopt(s.best)
		}
	}
}

// proven tells whether no plan can be better.
func (s *search) proven() bool {
	return len(s.left) == 0 && !slices.ContainsFunc(s.o.Aims, func(a Aim) bool { return s.bestSums[a] > s.bound[a]+1e-6 })
}

func (s *search) tell(places []place, sums [4]float64, at float64) {
	s.told, s.toldAt = sums, at
	if s.improved != nil {
		s.improved(Improvement{s.plan(places), s.tried})
	}
}

// plan makes a plan of places.
func (s *search) plan(places []place) *Plan {
	f := *s.first
	f.places = places
	return f.made(s.left)
}
