package planner

import (
	"cmp"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
)

// Doubt is how far times may be from what the plan says: for each operation and each lag the standard
// deviation of the logarithm of its time, 0 where there is none. Missing ones are 0.
type Doubt struct {
	Operations, Lags []float64
}

// Simulate plays a plan so many times with times by chance: everybody does in the planned order what is
// planned for them, where it is planned, as soon as that can be. Nobody knows beforehand how long something takes: it
// is begun when what is planned for it fits, and what may not pause and takes longer is finished all the same, after
// the end of a shift too. Times are log-normal with what is planned as their mean. The same seed gives the same, on any number of cores. Operations that are left out
// are not played. Faults: PROBLEM_MALFORMED.
//
// Source: the stochastic project under an earliest-start policy with fixed resource flow (Neumann,
// Schwindt and Zimmermann, as above; Hillier and Lieberman, Introduction to Operations Research, on PERT by simulation).
func Simulate(p *Problem, plan *Plan, d Doubt, runs int, seed uint64) ([]Outlook, error) {
	c, err := compile(p)
	if err != nil {
		return nil, err
	}
	ends := newReplay(c, plan, d).ends(runs, seed)
	out := make([]Outlook, len(p.Pieces))
	for i := range out {
		out[i] = newOutlook(ends[i], &p.Pieces[i])
	}
	return out, nil
}

// replay is one plan to be played many times. Nothing of it changes while it is.
type replay struct {
	*compiled
	plan    *Plan
	doubt   Doubt
	order   []int      // of play
	minutes []int      // of each operation, as planned
	open    []Calendar // when each can be done where it is planned
	until   []Minute   // when the shift ends in which each is planned to begin; 0: in none
	fixedAt []bool
}

// player plays it, one run after the other.
type player struct {
	*replay
	longer [2][]float64 // how many times longer each operation and each lag takes this time
	end    []Minute
	hands  []Minute   // when each worker is free again
	units  [][]Minute // when each unit of a station is free again, the first first
	clean  [][]Minute // when a station that is cleaned is ready for each colour
	ready  []Minute   // when each piece is done
}

func newReplay(c *compiled, plan *Plan, d Doubt) *replay {
	r, left := &replay{compiled: c, plan: plan, doubt: d, fixedAt: c.fixed()}, plan.leaves()
	rank := make([]int, len(r.Operations))
	for i, op := range r.compiled.order {
		rank[op] = i
		if !left[op] {
			r.order = append(r.order, op)
		}
	}
	slices.SortFunc(r.order, func(a, b int) int {
		return cmp.Or(cmp.Compare(r.plan.Slots[a].Start, r.plan.Slots[b].Start), cmp.Compare(rank[a], rank[b]))
	})
	r.minutes, r.open, r.until = make([]int, len(r.Operations)), make([]Calendar, len(r.Operations)), make([]Minute, len(r.Operations))
	for _, op := range r.order {
		start := r.plan.Slots[op].Start
		r.minutes[op], r.open[op] = r.planned(op), r.calendarOf(op, r.plan.Slots[op])
		if c := r.open[op]; len(c) > 0 {
			if i := c.at(start); i < len(c) && c[i].Start <= start {
				r.until[op] = c[i].End
			}
		}
	}
	return r
}

// ends plays so many runs, on all cores, and gives of each piece when it was done in each.
func (r *replay) ends(runs int, seed uint64) [][]Minute {
	ends := make([][]Minute, len(r.Pieces))
	for i := range ends {
		ends[i] = make([]Minute, runs)
	}
	var all sync.WaitGroup
	for core, cores := 0, min(runs, runtime.GOMAXPROCS(0)); core < cores; core++ {
		all.Go(func() {
			for n, play := core, newPlayer(r); n < runs; n += cores {
				play.draw(seed, uint64(n))
				for piece, end := range play.run() {
					ends[piece][n] = end
				}
			}
		})
	}
	all.Wait()
	return ends
}

func newPlayer(r *replay) *player {
	p := &player{replay: r, end: make([]Minute, len(r.Operations)), hands: make([]Minute, len(r.Workers)), units: make([][]Minute, len(r.Stations)), clean: make([][]Minute, len(r.Stations)), ready: make([]Minute, len(r.Pieces))}
	for i, s := range r.Stations {
		p.units[i], p.clean[i] = make([]Minute, s.Capacity), make([]Minute, len(s.Changeover))
	}
	return p
}

// draw draws the times of a run. The nth operation and the nth lag are drawn the same whatever comes behind
// them, so that two plans of one floor differ by what is planned and not by chance.
func (r *player) draw(seed, run uint64) {
	for i, sigmas := range [2][]float64{r.doubt.Operations, r.doubt.Lags} {
		rng := rand.New(rand.NewPCG(seed, 2*run+uint64(i)))
		r.longer[i] = r.longer[i][:0]
		for _, sigma := range sigmas {
			r.longer[i] = append(r.longer[i], math.Exp(sigma*rng.NormFloat64()-sigma*sigma/2))
		}
	}
}

// run plays the plan once and gives when each piece is done.
func (r *player) run() []Minute {
	clear(r.hands)
	for i := range r.units {
		clear(r.units[i])
		clear(r.clean[i])
	}
	clear(r.ready)
	for _, op := range r.order {
		s := r.play(op)
		r.take(op, s)
		piece := r.Operations[op].Piece
		r.ready[piece] = max(r.ready[piece], s.End)
	}
	return r.ready
}

// play gives when an operation is done this time.
func (r *player) play(op int) Slot {
	s := r.plan.Slots[op]
	minutes := r.stretched(r.minutes[op], 0, op)
	if r.fixedAt[op] && s.Start <= r.Now { // it has begun
		s.End = max(r.Now, s.Start+minutes)
		return s
	}
	t := r.free(op, s)
	w, ok := r.begun(op, t)
	if !ok { // past the last shift that is known
		w.Start = t
	}
	return Slot{s.Worker, s.Station, w.Start, r.done(op, w.Start, minutes)}
}

// begun gives the stretch for which an operation is begun at t or after. What was to be done by the end of a shift is
// still begun in it, late, if what is planned for it ends soon after.
func (r *player) begun(op int, t Minute) (Window, bool) {
	if until := r.until[op]; t >= r.plan.Slots[op].Start && t < until && t+r.minutes[op] <= until+overtime {
		return Window{t, t + r.minutes[op]}, true
	}
	return r.open[op].fit(t, r.minutes[op], r.Operations[op].Splittable)
}

// done gives when something begun is done. What may pause does, but for what was to be done by the end of a shift and
// is soon after it.
func (r *player) done(op int, start Minute, minutes int) Minute {
	c := r.open[op]
	inShift := start >= r.plan.Slots[op].Start && start+minutes <= r.until[op]
	if inShift || !r.Operations[op].Splittable || len(c) == 0 {
		return start + minutes
	}
	w, known := c.fit(start, minutes, true)
	if !known {
		return start + minutes
	}
	last := c.at(w.End - 1)
	if over := w.End - c[last].Start; last > 0 && start < c[last].Start && over <= overtime && r.plan.Slots[op].End <= c[last-1].End {
		return c[last-1].End + over
	}
	return w.End
}

// overtime is how many minutes after a shift's end people stay for what was to be done by then (common practice).
const overtime = 30

// free gives from when on an operation can be done: what it waits for, who does it, and where.
func (r *player) free(op int, s Slot) Minute {
	t := max(r.Now, r.Pieces[r.Operations[op].Piece].Release, r.Operations[op].Earliest)
	if r.fixedAt[op] {
		t = max(t, s.Start)
	}
	for _, l := range r.in[op] {
		t = max(t, r.end[r.Lags[l].From]+r.stretched(r.Lags[l].Min, 1, l))
	}
	if r.minutes[op] == 0 {
		return t // it takes nobody and nothing
	}
	if s.Worker != NoWorker {
		t = max(t, r.hands[s.Worker])
	}
	for _, w := range r.Operations[op].With {
		t = max(t, r.hands[w])
	}
	if s.Station != NoStation {
		t = max(t, r.units[s.Station][r.Operations[op].Demand-1])
		if ready := r.clean[s.Station]; len(ready) > 0 {
			t = max(t, ready[r.Operations[op].Colour])
		}
	}
	return t
}

func (r *player) take(op int, s Slot) {
	r.end[op] = s.End
	if s.Start == s.End {
		return
	}
	if s.Worker != NoWorker {
		r.hands[s.Worker] = max(r.hands[s.Worker], s.End)
	}
	for _, w := range r.Operations[op].With {
		r.hands[w] = max(r.hands[w], s.End)
	}
	if s.Station == NoStation {
		return
	}
	for colour := range r.clean[s.Station] {
		ready := &r.clean[s.Station][colour]
		*ready = max(*ready, s.End+r.Stations[s.Station].Changeover[r.Operations[op].Colour][colour])
	}
	units := r.units[s.Station]
	for i := range r.Operations[op].Demand {
		units[i] = s.End
	}
	slices.Sort(units)
}

func (r *replay) calendarOf(op int, s Slot) Calendar {
	if s.Worker == NoWorker {
		return nil
	}
	return r.compiled.open(op, s.Worker, s.Station)
}

// planned is how long the plan has an operation take, without what it pauses.
func (r *replay) planned(op int) int {
	s := r.plan.Slots[op]
	for _, m := range r.Operations[op].Modes {
		if m.Worker == s.Worker {
			return m.Minutes
		}
	}
	return s.End - s.Start // of what is fixed otherwise than any mode
}

// stretched is a time of which this is the mean, as it falls this time; of an operation (0) or a lag (1).
func (r *player) stretched(minutes, of, i int) int {
	if i >= len(r.longer[of]) {
		return minutes
	}
	return int(math.Round(float64(minutes) * r.longer[of][i]))
}
