package jobshop

// elsewhere looks at the moves of the path's operations to other machines.
func (t *tabu) elsewhere() {
	for _, o := range t.path {
		for m := t.modeAt[o]; m < t.modeAt[o+1]; m++ {
			if m != t.mode[o] {
				t.gaps(o, m)
			}
		}
	}
}

// gaps looks at the places of an operation on the machine of another mode. Those before what ends before the job's
// former does, and behind what has less to come than the job's next, are no better than the nearest that is not.
// Between what begins before the job's next can and what ends after the job's former begins, no circle closes.
func (t *tabu) gaps(o, mode int32) {
	nodes, none := t.nodes, int32(t.n)
	x := &nodes[o]
	ready, rest := nodes[x.jobBefore].end, nodes[x.jobAfter].tail
	begun := ready - nodes[x.jobBefore].length
	next := unknown
	if x.jobAfter != none {
		next = nodes[x.jobAfter].end
	}
	length := t.duration[mode]
	barred := t.left[mode] >= t.now
	before := none
	for after := t.firstOn[t.machine[mode]]; ; after = nodes[after].machineAfter {
		if after == o {
			continue
		}
		y := &nodes[after]
		if after == none || (y.end > begun && (y.end > ready || y.tail <= rest)) {
			most := max(ready, nodes[before].end) + length + max(rest, y.tail)
			t.choice.meet(move{o, before, mode}, t.by)
			if most <= t.choice.length && (!barred || int64(most) < t.best.value) {
				t.take(move{o, before, mode}, most)
			}
		}
		if after == none || y.end-y.length >= next || y.tail <= rest {
			return
		}
		before = after
	}
}
