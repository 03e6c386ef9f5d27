package planner

// mostPushes is how often a block is tried again before it counts as one that does not fit.
const mostPushes = 400

// earliest gives from when on an operation may begin by what is placed before it.
func (f *floor) earliest(op int) int {
	t := max(f.Now, f.Pieces[f.Operations[op].Piece].Release, f.Operations[op].Earliest)
	for _, l := range f.in[op] {
		t = max(t, int(f.places[f.Lags[l].From].end)+f.Lags[l].Min)
	}
	return t
}

// putBlock places all operations of a block from t on, or none: no longest wait between two of them is
// overstepped. Where one would be, the earlier of the two begins later and what follows it is placed anew.
func (f *floor) putBlock(block []int, t int) bool {
	if len(block) == 1 {
		s, ok := f.fit(block[0], max(t, f.earliest(block[0])))
		if ok {
			f.put(block[0], s)
		}
		return ok
	}
	least := make([]int, len(block))
	least[0] = t
	for i, pushes := 0, 0; i < len(block); {
		s, ok := f.fit(block[i], max(least[i], f.earliest(block[i])))
		if !ok || pushes > mostPushes {
			f.liftAll(block[:i])
			return false
		}
		if back, later := f.overstepped(block, i, s); back >= 0 {
			f.liftAll(block[back:i])
			least[back] = max(least[back], later)
			i = back
			pushes++
			continue
		}
		f.put(block[i], s)
		i++
	}
	return true
}

// overstepped finds an operation of the block after which this place would come too late, and when that
// one has to begin at least for it; back -1: none.
func (f *floor) overstepped(block []int, i int, p place) (back, later int) {
	for _, l := range f.in[block[i]] {
		lag := f.Lags[l]
		if lag.Max == Forever || f.blockOf[lag.From] != f.blockOf[block[i]] {
			continue
		}
		before := f.places[lag.From]
		if over := int(p.start-before.end) - lag.Max; over > 0 {
			for j, op := range block[:i] {
				if op == lag.From {
					return j, int(before.start) + over
				}
			}
		}
	}
	return -1, 0
}

func (f *floor) liftAll(ops []int) {
	for _, op := range ops {
		f.lift(op)
	}
}

// closing gives when the first running window before a block closes: that of a longest wait after what
// is placed already and not of the block; ok: there is one.
func (f *floor) closing(block []int) (at int, ok bool) {
	for _, op := range block {
		for _, l := range f.in[op] {
			lag := f.Lags[l]
			if lag.Max != Forever && f.placed[lag.From] && f.blockOf[lag.From] != f.blockOf[op] {
				if closes := int(f.places[lag.From].end) + lag.Max; !ok || closes < at {
					at, ok = closes, true
				}
			}
		}
	}
	return at, ok
}

// missed lists the longest waits that the plan does not keep.
func (f *floor) missed() (all []int) {
	for i, l := range f.Lags {
		if l.Max != Forever && f.placed[l.From] && f.placed[l.To] && int(f.places[l.To].start-f.places[l.From].end) > l.Max {
			all = append(all, i)
		}
	}
	return all
}
