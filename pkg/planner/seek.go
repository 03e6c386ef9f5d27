package planner

import (
	"math/rand/v2"
	"slices"
)

// seeker looks for places for blocks that have none before the horizon.
//
//	draw one that has none ─▶ take out what holds the hands it waits for ─▶ put all in again in another order
//	   ─▶ go on from there if fewer are without, or such that were rarely without ─▶ else back
//
// Pools of what has no place, and counts of how often it had none: Nagata and Bräysy, Operations Research Letters 37
// (2009) 333-338; Christiaens and Vanden Berghe, Transportation Science 54 (2020) 417-433 (volumes and pages from memory).
type seeker struct {
	*floor
	*network
	dice
	stays []bool // blocks that keep their place
	found []bool // of each block: it had a place at the start, or has one since; that is not given up

	out   []int   // blocks taken out, or without a place and tried
	isOut []bool  // of each block: it is among them
	was   []place // of their operations, one after the other
	wasIn []bool  // of each that is out: it had a place
	times []int   // of each block, how often it was without

	best   []place
	bestIn []bool // of each operation: it has a place there
	left   int    // blocks that have none there
}

const (
	seekPart   = 0.1    // of the way, for what has no place
	seekSteps  = 20_000 // at most
	seekOthers = 6      // more that have no place that are tried in a step
)

// seek finds places for what has none as far as it can, without taking any other's.
func (s *search) seek() {
	if !slices.ContainsFunc(s.left, func(u Unplaced) bool { return u.Why == AfterHorizon }) {
		return
	}
	k := newSeeker(s.first, s.n, s.still)
	k.PCG = *rand.NewPCG(s.o.Seed, 1<<40)
	before, most := k.left, seekSteps
	if s.o.Iterations > 0 {
		most = min(most, s.o.Iterations)
	}
	for i := 0; i < most && k.left > 0 && (s.o.Budget == nil || s.o.Budget() < seekPart) && k.step(); i++ {
	}
	if k.left < before {
		s.first = k.made()
		s.left = slices.DeleteFunc(s.left, func(u Unplaced) bool { return s.first.placed[u.Operation] })
	}
}

func newSeeker(f *floor, n *network, stays []bool) *seeker {
	k := &seeker{floor: f.clone(), network: n, stays: stays, found: make([]bool, len(f.blocks)), isOut: make([]bool, len(f.blocks)), times: make([]int, len(f.blocks))}
	for b, ops := range f.blocks {
		k.found[b] = f.placed[ops[0]]
		if !k.found[b] {
			k.left, k.times[b] = k.left+1, 1
		}
	}
	return k
}

func (k *seeker) has(b int) bool { return k.placed[k.blocks[b][0]] }

// couldGoIn lists the blocks that have no place though all that they wait for has one.
func (k *seeker) couldGoIn() (all []int) {
	for b := range k.blocks {
		if !k.has(b) && !slices.ContainsFunc(k.before[b], func(from int) bool { return !k.has(from) }) {
			all = append(all, b)
		}
	}
	return all
}

// step tries one change; false: there is nothing to try.
func (k *seeker) step() bool {
	could := k.couldGoIn()
	if len(could) == 0 {
		return false
	}
	b := k.from(could)
	k.take(b)
	for range k.below(seekOthers + 1) {
		k.take(k.from(could))
	}
	k.clear(b)
	k.fill(b)
	if before, after := k.burdens(); after < before || (after == before && k.once(2)) {
		k.accept()
	} else {
		k.restore()
	}
	k.forget()
	return true
}

// take takes a block out, and all that waits for it.
func (k *seeker) take(b int) {
	if k.isOut[b] || k.stays[b] {
		return
	}
	for _, next := range k.after[b] {
		k.take(next)
	}
	k.isOut[b] = true
	k.out, k.wasIn = append(k.out, b), append(k.wasIn, k.has(b))
	for _, op := range k.blocks[b] {
		k.was = append(k.was, k.places[op])
	}
	if k.has(b) {
		k.liftAll(k.blocks[b])
	}
}

// clear takes out some of what holds the hands and stations that a block waits for.
func (k *seeker) clear(b int) {
	from := k.earliest(k.blocks[b][0])
	for range 1 + k.below(k.from(ruinSizes[:])) {
		if other := k.inWay(k.from(k.blocks[b]), from); other >= 0 && k.blockOf[other] >= 0 {
			k.take(k.blockOf[other])
		}
	}
}

// inWay draws who could do an operation, or where it could be done, and gives what is done there some time after a
// slot; -1: nothing is.
func (k *seeker) inWay(op, from int) int {
	if len(k.ways[op]) == 0 {
		return -1
	}
	w := &k.ways[op][k.below(len(k.ways[op]))]
	if w.worker >= 0 && (len(w.stations) == 0 || k.once(2)) {
		l := &k.lanes[w.worker]
		first := l.position(from)
		return k.ownerAt(w.worker, first+k.below(max(1, l.position(k.Horizon)-first)))
	}
	if len(w.stations) == 0 {
		return -1
	}
	return k.ownerIn(k.from(w.stations), from+k.below(max(1, k.Horizon-from)))
}

// fill puts in again what is out: first the block that is sought a place for or, as often, whichever comes.
func (k *seeker) fill(first int) {
	turns := slices.Clone(k.out)
	for i := len(turns) - 1; i > 0; i-- {
		j := k.below(i + 1)
		turns[i], turns[j] = turns[j], turns[i]
	}
	if k.once(2) {
		k.fillIn(first)
	}
	for _, b := range turns {
		k.fillIn(b)
	}
}

// fillIn puts in a block, and before it what it waits for; false: it does not fit.
func (k *seeker) fillIn(b int) bool {
	if k.has(b) {
		return true
	}
	if !k.isOut[b] {
		return false
	}
	for _, from := range k.before[b] {
		if !k.fillIn(from) {
			return false
		}
	}
	return k.putBlock(k.blocks[b], k.Now)
}

// burdens are how often what had no place before the step, and what has none after it, was without.
func (k *seeker) burdens() (before, after int) {
	for i, b := range k.out {
		if !k.wasIn[i] {
			before += k.times[b]
		}
		if !k.has(b) {
			after += k.times[b]
		}
	}
	return before, after
}

// accept goes on from what a step came to, and keeps it where nothing lost its place and something found one.
func (k *seeker) accept() {
	for _, b := range k.out {
		if !k.has(b) {
			k.times[b]++
		}
	}
	left := 0
	for b := range k.blocks {
		if !k.has(b) {
			if k.found[b] {
				return
			}
			left++
		}
	}
	if left >= k.left {
		return
	}
	k.left, k.best, k.bestIn = left, slices.Clone(k.places), slices.Clone(k.placed)
	for b := range k.blocks {
		k.found[b] = k.has(b)
	}
}

// restore puts everything back where it was.
func (k *seeker) restore() {
	for _, b := range k.out {
		if k.has(b) {
			k.liftAll(k.blocks[b])
		}
	}
	n := 0
	for i, b := range k.out {
		for _, op := range k.blocks[b] {
			if k.wasIn[i] {
				k.put(op, k.was[n])
			}
			n++
		}
	}
}

func (k *seeker) forget() {
	for _, b := range k.out {
		k.isOut[b] = false
	}
	k.out, k.was, k.wasIn = k.out[:0], k.was[:0], k.wasIn[:0]
}

// made is a floor with the best that was found.
func (k *seeker) made() *floor {
	f := newFloor(k.compiled)
	for _, ops := range k.blocks {
		for _, op := range ops {
			if k.bestIn[op] {
				f.put(op, k.best[op])
			}
		}
	}
	return f
}
