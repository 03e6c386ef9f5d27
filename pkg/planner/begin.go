package planner

import (
	"cmp"
	"slices"
)

// clone is a floor of its own with the same on it.
func (f *floor) clone() *floor {
	g := *f
	g.places, g.placed, g.epochs = slices.Clone(f.places), slices.Clone(f.placed), slices.Clone(f.epochs)
	g.lanes, g.rooms = slices.Clone(f.lanes), slices.Clone(f.rooms)
	for i := range g.lanes {
		g.lanes[i].taken, g.lanes[i].owners = slices.Clone(f.lanes[i].taken), slices.Clone(f.lanes[i].owners)
	}
	for i := range g.rooms {
		g.rooms[i].used, g.rooms[i].full, g.rooms[i].owners = slices.Clone(f.rooms[i].used), slices.Clone(f.rooms[i].full), slices.Clone(f.rooms[i].owners)
	}
	return &g
}

// begin finds a plan to begin with, and what of it stays.
func (s *search) begin(start *Plan) {
	if start == nil {
		start, s.anew = newDispatcher(newFloor(s.c)).best(someRules(len(s.c.Operations))), dispatchPart
	}
	kept := s.mend(start)
	if p := s.o.Published; p != nil {
		s.published = s.known(p)
	}
	s.still = make([]bool, len(s.c.blocks))
	s.settle(kept)
	if s.seeks {
		s.seek()
	}
	s.leave()
	s.bound = s.c.bounds()
}

// known is what people count on of a plan: what begins soon.
func (s *search) known(p *Plan) *published {
	k, left := &published{make([]place, len(s.c.Operations)), make([]bool, len(s.c.Operations))}, p.leaves()
	for op, slot := range p.Slots {
		k.places[op] = s.c.placeOf(slot)
		k.counts[op] = !left[op] && slot.Start < s.c.real.Now+s.o.Soon
	}
	return k
}

// placeOf gives a slot's place.
func (c *compiled) placeOf(s Slot) place {
	return place{int32(c.down(s.Start)), int32(c.down(s.End)), int32(s.Worker), int32(s.Station)}
}

// settle marks the blocks that keep their place: those that missed their window, those that are pinned, and those
// kept that begin soon where such are to stay; each with what it waits for.
func (s *search) settle(kept []bool) {
	ch, until := &chain{floor: s.first, network: s.n}, s.o.Keep/s.c.step
	for b, ops := range s.c.blocks {
		soon := kept[b] && slices.ContainsFunc(ops, func(op int) bool { return int(s.first.places[op].start) < until })
		pinned := slices.ContainsFunc(ops, func(op int) bool { return s.c.Operations[op].Pinned })
		if s.first.placed[ops[0]] && (soon || pinned || !ch.keepsWindow(b)) {
			s.pin(b)
		}
	}
}

// leave has the walks leave alone what fits nowhere.
func (s *search) leave() {
	for b, ops := range s.c.blocks {
		if !s.first.placed[ops[0]] {
			s.pin(b)
		}
	}
}

func (s *search) pin(b int) {
	s.still[b] = true
	for _, from := range s.n.before[b] {
		if !s.still[from] {
			s.pin(from)
		}
	}
}

// mend puts everything where the plan has it, where the problem allows that; all else goes in anew, as early
// as it can be, what is pressing first, then what was planned first. It tells which blocks were kept.
func (s *search) mend(start *Plan) []bool {
	d := newDispatcher(newFloor(s.c))
	s.first = d.floor
	kept, left, turns := make([]bool, len(s.c.blocks)), start.leaves(), s.turns(start)
	for _, b := range turns { // a window that runs does not wait for what others were promised
		kept[b] = s.n.urgent[b] && !left[s.c.blocks[b][0]] && s.keep(d, b, start)
	}
	d.recount()
	d.hot()
	for _, b := range turns {
		if !d.isPlaced(b) && !left[s.c.blocks[b][0]] {
			kept[b] = s.keep(d, b, start)
		}
	}
	d.recount()
	d.pinned()
	for _, b := range turns {
		if !d.isPlaced(b) && !left[s.c.blocks[b][0]] {
			kept[b] = s.keep(d, b, start) // what it waits for may have come in before it after all
		}
		d.placeWithBefore(d.blocks[b][0])
	}
	s.left = d.left
	return kept
}

// turns gives the blocks in the order in which a plan begins them, each after all that it waits for.
func (s *search) turns(start *Plan) []int {
	all, at := s.n.sorted(), make([]int, len(s.c.blocks))
	for _, b := range all {
		at[b] = start.Slots[s.c.blocks[b][0]].Start
		for _, from := range s.n.before[b] {
			at[b] = max(at[b], at[from])
		}
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(at[a], at[b]) })
	return all
}

// keep puts a block where the plan has it, if that is allowed.
func (s *search) keep(d *dispatcher, b int, start *Plan) bool {
	return d.putAt(s.c.blocks[b], func(op int) place { return s.c.placeOf(start.Slots[op]) })
}

// putAt puts a block at given places, if these are allowed.
func (f *floor) putAt(ops []int, at func(op int) place) bool {
	for i, op := range ops {
		p := at(op)
		if back, _ := f.overstepped(ops, i, p); back >= 0 || !f.allowed(op, p) {
			f.liftAll(ops[:i])
			return false
		}
		f.put(op, p)
	}
	return true
}

// allowed tells whether an operation may be at a place: all that it waits for is placed, and whoever and
// wherever it is, it would be there by itself.
func (f *floor) allowed(op int, p place) bool {
	for _, l := range f.in[op] {
		if !f.placed[f.Lags[l].From] {
			return false
		}
	}
	if int(p.start) < f.earliest(op) {
		return false
	}
	for _, w := range f.ways[op] {
		if w.worker != int(p.worker) || (p.station >= 0 && !slices.Contains(w.stations, int(p.station))) {
			continue
		}
		if p.station >= 0 {
			w.stations = []int{int(p.station)}
		}
		if got, ok := f.try(&w, op, int(p.start), int(p.end)); ok && got == p {
			return true
		}
	}
	return false
}
