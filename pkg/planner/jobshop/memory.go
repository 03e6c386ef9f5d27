package jobshop

// memory forbids a searcher what it has undone.
type memory struct {
	of     *graph
	now    int64   // moves made, ever
	pairs  []int64 // by operation and another's job: until when it may not come to stand before that again
	left   []int64 // by mode: until when its operation may not come back to it
	tenure int     // moves for which something is forbidden, at least
	spread int     // and how many more, by chance
}

// newMemory forbids for as long as Peng, Lü and Cheng do.
func newMemory(g *graph) memory {
	m := memory{of: g, pairs: make([]int64, g.n*g.jobs), left: make([]int64, len(g.machine)), tenure: 10 + g.jobs/g.machines}
	m.spread = m.tenure * 2 / 5
	if g.jobs > 2*g.machines {
		m.spread = m.tenure / 2
	}
	return m
}

// forbid remembers what a move undoes: the operation may not go back past those it jumps over, nor to its mode.
func (t *memory) forbid(m move, by *chance) {
	g := t.of
	until := t.now + int64(t.tenure+by.below(t.spread+1))
	if g.mode[m.op] != m.mode {
		t.left[g.mode[m.op]] = until + int64(t.tenure)
		return
	}
	if m.after == int32(g.n) || g.at[m.after] < g.at[m.op] {
		for o := g.nodes[m.op].machineBefore; o != m.after; o = g.nodes[o].machineBefore {
			t.pairs[int(o)*g.jobs+int(g.jobOf[m.op])] = until
		}
		return
	}
	for o := m.op; o != m.after; {
		o = g.nodes[o].machineAfter
		t.pairs[int(m.op)*g.jobs+int(g.jobOf[o])] = until
	}
}

// isForbidden reports whether a move would turn a pair back, or go back to a mode.
func (t *memory) isForbidden(m move) bool {
	g := t.of
	if g.mode[m.op] != m.mode {
		return t.left[m.mode] >= t.now
	}
	if m.after == int32(g.n) || g.at[m.after] < g.at[m.op] {
		for o := g.nodes[m.op].machineBefore; o != m.after; o = g.nodes[o].machineBefore {
			if t.pairs[int(m.op)*g.jobs+int(g.jobOf[o])] >= t.now {
				return true
			}
		}
		return false
	}
	for o := m.op; o != m.after; {
		o = g.nodes[o].machineAfter
		if t.pairs[int(o)*g.jobs+int(g.jobOf[m.op])] >= t.now {
			return true
		}
	}
	return false
}
