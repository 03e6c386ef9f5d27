package project

import "slices"

// nogood is bounds that cannot all hold. The first two are watched: as long as neither holds, or one of them cannot,
// nothing follows. Of one from which something follows that is the opposite of the first.
type nogood struct {
	lits   []lit
	weight float32
	levels int32 // of how many decisions its bounds were when it was learnt
	gone   bool
}

// watch is a nogood that is looked at when a side reaches a value.
type watch struct {
	v      int32
	number int32
	other  lit // one of its bounds: while that cannot hold there is nothing to look at
}

func (s *solver) watch(l lit, number int32, other lit) {
	s.watches[l.x] = append(s.watches[l.x], watch{l.v, number, other})
}

// remember keeps a nogood; of those of one bound there is nothing to watch.
func (s *solver) remember(lits []lit, levels int) int32 {
	number := int32(len(s.nogoods))
	s.nogoods = append(s.nogoods, nogood{lits: slices.Clone(lits), weight: s.step, levels: int32(levels)})
	s.kept++
	s.watch(lits[0], number, lits[1])
	s.watch(lits[1], number, lits[0])
	return number
}

// visit looks at the nogoods that wait for a side; a conflict is their bounds, all of which hold.
func (s *solver) visit(x int32) []lit {
	list := s.watches[x]
	kept := 0
	for i, w := range list {
		if w.v > s.bound[x] || s.fails(w.other) {
			list[kept] = w
			kept++
			continue
		}
		stays, conflict := s.look(w, x)
		if stays {
			list[kept] = w
			kept++
		}
		if conflict != nil {
			kept += copy(list[kept:], list[i+1:])
			s.watches[x] = list[:kept]
			return conflict
		}
	}
	s.watches[x] = list[:kept]
	return nil
}

// look finds another bound to watch instead of one that holds now, or what follows.
func (s *solver) look(w watch, x int32) (stays bool, conflict []lit) {
	n := &s.nogoods[w.number]
	if n.gone {
		return false, nil
	}
	lits := n.lits
	at := 0
	if lits[1] == (lit{x, w.v}) {
		at = 1
	} else if lits[0] != (lit{x, w.v}) {
		return false, nil // it is watched elsewhere by now
	}
	if s.fails(lits[1-at]) {
		return true, nil
	}
	for i := 2; i < len(lits); i++ {
		if !s.holds(lits[i]) {
			lits[at], lits[i] = lits[i], lits[at]
			s.watch(lits[at], w.number, lits[1-at])
			return false, nil
		}
	}
	if at == 0 {
		lits[0], lits[1] = lits[1], lits[0]
	}
	if s.holds(lits[0]) {
		return true, lits
	}
	s.raise(lits[0].not(), ofNogood(w.number))
	return true, nil
}

// reduce forgets half of the nogoods that were of little weight.
func (s *solver) reduce() {
	locked := map[int32]bool{}
	for _, e := range s.entries {
		if e.from < decided {
			locked[ofNogood(e.from)] = true
		}
	}
	var loose []int32
	for i := range s.nogoods {
		if n := &s.nogoods[i]; !n.gone && n.levels > 2 && len(n.lits) > 2 && !locked[int32(i)] {
			loose = append(loose, int32(i))
		}
	}
	slices.SortStableFunc(loose, func(a, b int32) int {
		switch wa, wb := s.nogoods[a].weight, s.nogoods[b].weight; {
		case wa < wb:
			return -1
		case wa > wb:
			return 1
		}
		return 0
	})
	for _, i := range loose[:len(loose)/2] {
		s.nogoods[i] = nogood{gone: true}
		s.kept--
	}
}
