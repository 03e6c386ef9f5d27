package planner

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// Doubt is how far times may be from what the plan says: for each operation and each lag the standard
// deviation of the logarithm of its time, 0 where there is none. Missing ones are 0.
type Doubt struct {
	Operations, Lags []float64
}

// Outlook is what may become of a piece.
type Outlook struct {
	Kept               float64 // the share of runs in which it is done by its promise; 1 where nobody promised
	Early, Middle, End Minute  // by when it is done in one of ten runs, in half, in nine of ten
}

// Simulate plays a plan so many times with times by chance: everybody does in the planned order what is
// planned for them, where it is planned, as soon as that can be. Times are log-normal with what is
// planned as their mean. The same seed gives the same. Operations that are left out are not played.
//
// Source: the stochastic project under an earliest-start policy with fixed resource flow (Neumann,
// Schwindt and Zimmermann, as above; Hillier and Lieberman, Introduction to Operations Research, on PERT by simulation).
func Simulate(p *Problem, plan *Plan, d Doubt, runs int, seed uint64) ([]Outlook, error) {
	c, err := compile(p)
	if err != nil {
		return nil, err
	}
	r := &replay{compiled: c, plan: plan, doubt: d, fixedAt: map[int]bool{}}
	r.prepare()
	ends := make([][]Minute, len(p.Pieces))
	for n := range runs {
		r.draw(seed, uint64(n))
		for piece, end := range r.run() {
			ends[piece] = append(ends[piece], end)
		}
	}
	out := make([]Outlook, len(p.Pieces))
	for i := range out {
		out[i] = outlook(ends[i], p.Pieces[i].Due)
	}
	return out, nil
}

func outlook(ends []Minute, due Minute) (o Outlook) {
	if len(ends) == 0 {
		return o
	}
	slices.Sort(ends)
	kept, _ := slices.BinarySearch(ends, due+1)
	at := func(share float64) Minute { return ends[min(int(share*float64(len(ends))), len(ends)-1)] }
	return Outlook{float64(kept) / float64(len(ends)), at(0.1), at(0.5), at(0.9)}
}

// replay plays one plan many times.
type replay struct {
	*compiled
	plan    *Plan
	doubt   Doubt
	longer  [2][]float64 // how many times longer each operation and each lag takes this time
	order   []int        // of play
	minutes []int        // of each operation, as planned
	open    []Calendar   // when each can be done where it is planned
	fixedAt map[int]bool
	end     []Minute
	hands   []Minute   // when each worker is free again
	units   [][]Minute // when each unit of a station is free again, the first first
}

func (r *replay) prepare() {
	left := map[int]bool{}
	for _, u := range r.plan.Left {
		left[u.Operation] = true
	}
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
	r.minutes, r.open = make([]int, len(r.Operations)), make([]Calendar, len(r.Operations))
	for _, op := range r.order {
		r.minutes[op], r.open[op] = r.planned(op), r.calendarOf(op, r.plan.Slots[op])
	}
	for _, f := range r.Fixed {
		r.fixedAt[f.Operation] = true
	}
	r.end, r.hands, r.units = make([]Minute, len(r.Operations)), make([]Minute, len(r.Workers)), make([][]Minute, len(r.Stations))
	for i, s := range r.Stations {
		r.units[i] = make([]Minute, s.Capacity)
	}
}

// draw draws the times of a run. The nth operation and the nth lag are drawn the same whatever comes behind
// them, so that two plans of one floor differ by what is planned and not by chance.
func (r *replay) draw(seed, run uint64) {
	for i, sigmas := range [2][]float64{r.doubt.Operations, r.doubt.Lags} {
		rng := rand.New(rand.NewPCG(seed, 2*run+uint64(i)))
		r.longer[i] = r.longer[i][:0]
		for _, sigma := range sigmas {
			r.longer[i] = append(r.longer[i], math.Exp(sigma*rng.NormFloat64()-sigma*sigma/2))
		}
	}
}

// run plays the plan once and gives when each piece is done.
func (r *replay) run() []Minute {
	clear(r.hands)
	for _, u := range r.units {
		clear(u)
	}
	done := make([]Minute, len(r.Pieces))
	for _, op := range r.order {
		s := r.play(op)
		r.take(op, s)
		piece := r.Operations[op].Piece
		done[piece] = max(done[piece], s.End)
	}
	return done
}

// play gives when an operation is done this time.
func (r *replay) play(op int) Slot {
	s := r.plan.Slots[op]
	minutes := r.stretched(r.minutes[op], 0, op)
	if r.fixedAt[op] && s.Start <= r.Now { // it has begun
		s.End = max(r.Now, s.Start+minutes)
		return s
	}
	w, ok := r.open[op].fit(r.free(op, s), minutes, r.Operations[op].Splittable)
	if !ok { // it became too long for any shift, or goes past the last one that is known
		t := r.free(op, s)
		w = Window{t, t + minutes}
	}
	return Slot{s.Worker, s.Station, w.Start, w.End}
}

// free gives from when on an operation can be done: what it waits for, who does it, and where.
func (r *replay) free(op int, s Slot) Minute {
	t := max(r.Now, r.Pieces[r.Operations[op].Piece].Release, r.Operations[op].Earliest)
	if r.fixedAt[op] {
		t = max(t, s.Start)
	}
	for _, l := range r.in[op] {
		t = max(t, r.end[r.Lags[l].From]+r.stretched(r.Lags[l].Min, 1, l))
	}
	if s.Worker != NoWorker {
		t = max(t, r.hands[s.Worker])
	}
	for _, w := range r.Operations[op].With {
		t = max(t, r.hands[w])
	}
	if s.Station != NoStation {
		t = max(t, r.units[s.Station][r.Operations[op].Demand-1])
	}
	return t
}

func (r *replay) take(op int, s Slot) {
	r.end[op] = s.End
	if s.Worker != NoWorker {
		r.hands[s.Worker] = max(r.hands[s.Worker], s.End)
	}
	for _, w := range r.Operations[op].With {
		r.hands[w] = max(r.hands[w], s.End)
	}
	if s.Station == NoStation {
		return
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
func (r *replay) stretched(minutes, of, i int) int {
	if i >= len(r.longer[of]) {
		return minutes
	}
	return int(math.Round(float64(minutes) * r.longer[of][i]))
}
