package planner

import (
	"cmp"
	"slices"
)

// mender moves as few operations as it can of a plan that people know. It works on single operations, not on
// blocks: a longest wait is one more end of the leeway that an operation has.
//
//	start: home what still can be as it was ─▶ construct: the rest, one after the other, each in the best of some ways
//	   ─▶ walk: other constructions; then steps from the best: out with something moved, and what it moved; in again
//	      place: at home ▸ in a gap before what follows ▸ where the fewest others move: in a later gap, which
//	      shoves what follows, or where others are, which make way and are put in anew (ejection)
//
// Sources: ejection chains (Glover, Discrete Applied Mathematics 65 (1996) 223-253) and pools of what was ejected
// (Nagata and Bräysy, Operations Research Letters 37 (2009) 333-338); plans that are to change least (El Sakkout and
// Wallace, Constraints 5 (2000) 359-388); volumes and pages from memory.
type mender struct {
	*floor
	*network
	dice
	known    *published // where people know things to be, and of which it counts
	homely   []bool     // of each operation: people know a place of it
	free     []bool     // of each operation: it may be moved
	key      []int      // of each operation, its turn: not before what it waits for
	rank     []int      // of each operation, its turn among those of one key
	turns    []int      // the free operations in their turns
	burden   []int      // of each operation: how many that count follow it, itself with them
	least    int        // so many must be moved, whatever is done
	homeless []int      // operations that cannot be at home
	bare     []place    // where the others are before these are put in

	there [][]int32 // of each worker, then each station: the operations there that could make way
	reach int       // the slot until which they could
	end   []int32   // of each piece
	dirty []int     // pieces whose end may be another
	isHit []bool    // of each piece: it is among them
	toll  toll      // what the plan costs

	mark    toll       // what it cost before the step
	saved   []savedEnd // the ends of pieces before the step
	log     []undo     // what was done in the step
	queue   []int      // operations to put in
	queued  []bool     // of each operation: it is among them
	later   []int      // of each operation, before when it does not begin in this step
	times   []int      // of each operation, how often it was put in in this step
	touched []int      // the operations of which it was
	hope    float64    // how far what makes way is thought to find a place at once, 0 to 1
	strict  bool       // nothing is forced in where it shoves what follows

	moved  []int   // scratch: operations that are not at home
	chosen []undo  // scratch: what the best insertion put in
	way    way     // scratch: a way at one station
	single [1]int  // scratch: that station
	heat   float64 // of the walk, in operations moved

	best     []place
	bestToll toll
}

// toll is what a mended plan costs, the first first.
type toll struct {
	missed, moved int     // windows that something fixed opened; operations that count
	late          float64 // weighted tardiness, and a little of the weighted flow
}

func (t toll) less(than toll) bool {
	switch {
	case t.missed != than.missed:
		return t.missed < than.missed
	case t.moved != than.moved:
		return t.moved < than.moved
	}
	return t.late < than.late-1e-6
}

func newMender(s *search) *mender {
	c, n := s.c, len(s.c.Operations)
	m := &mender{floor: newFloor(c), network: s.n, known: s.published, homely: make([]bool, n), free: make([]bool, n), key: make([]int, n), rank: make([]int, n), burden: make([]int, n),
		there: make([][]int32, len(c.Workers)+len(c.Stations)), reach: c.Now + 2*s.o.Soon/c.step, end: make([]int32, len(c.Pieces)), isHit: make([]bool, len(c.Pieces)),
		queued: make([]bool, n), later: make([]int, n), times: make([]int, n)}
	m.sortTurns(s.o.Published.leaves(), (&Plan{Left: s.left}).leaves())
	m.weigh()
	for op := range c.Operations {
		if m.placed[op] {
			m.list(op, m.places[op])
		}
	}
	for i := range m.end {
		m.end[i] = never
		m.touch(i)
	}
	m.finish()
	return m
}

// sortTurns finds which operations may be moved and which people know a place of, and their turns.
func (m *mender) sortTurns(unknown, left map[int]bool) {
	for i, op := range m.order {
		m.rank[op], m.homely[op] = i, !unknown[op]
		m.free[op] = m.blockOf[op] >= 0 && !left[op]
		if m.homely[op] {
			m.key[op] = int(m.known.places[op].start)
		}
		for _, l := range m.in[op] {
			m.key[op] = max(m.key[op], m.key[m.Lags[l].From])
		}
		m.known.counts[op] = m.known.counts[op] && m.free[op] && int(m.known.places[op].start) >= m.Now
	}
	m.turns = slices.DeleteFunc(slices.Clone(m.order), func(op int) bool { return !m.free[op] })
	slices.SortFunc(m.turns, m.compare)
}

func (m *mender) compare(a, b int) int {
	return cmp.Or(cmp.Compare(m.key[a], m.key[b]), cmp.Compare(m.rank[a], m.rank[b]))
}

// weigh finds how many operations that count follow each, itself with them: so many are moved if it is moved far.
func (m *mender) weigh() {
	seen := make([]int, len(m.order))
	var visit func(op, of int) int
	visit = func(op, of int) (n int) {
		if seen[op] == of+1 {
			return 0
		}
		seen[op] = of + 1
		if m.known.counts[op] {
			n = 1
		}
		for _, l := range m.out[op] {
			n += visit(m.Lags[l].To, of)
		}
		return n
	}
	for op := range m.order {
		m.burden[op] = visit(op, op)
	}
}

// clone is a mender of its own that goes on from the same plan.
func (m *mender) clone() *mender {
	o := *m
	o.floor = m.floor.clone()
	o.there = make([][]int32, len(m.there))
	for i := range o.there {
		o.there[i] = slices.Clone(m.there[i])
	}
	o.end, o.isHit, o.queued, o.later, o.times = slices.Clone(m.end), slices.Clone(m.isHit), slices.Clone(m.queued), slices.Clone(m.later), slices.Clone(m.times)
	o.dirty, o.saved, o.log, o.queue, o.touched, o.moved, o.chosen = nil, nil, nil, nil, nil, nil, nil
	o.best = slices.Clone(m.best)
	return &o
}
