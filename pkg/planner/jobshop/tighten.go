package jobshop

// tighten raises heads and tails and decides pairs until nothing more follows; false: no schedule is left.
func (p *prover) tighten(x *proof) bool {
	for again := true; again; {
		for follows := true; follows; {
			p.chains(x)
			ok := false
			if follows, ok = p.decide(x); !ok {
				return false
			}
		}
		var ok bool
		if again, ok = p.edgesOf(x); !ok {
			return false
		}
	}
	return p.fits(x)
}

// chains passes heads and tails on along the jobs.
func (p *prover) chains(x *proof) {
	for j := range p.jobs {
		for o := p.first[j] + 1; o < p.first[j+1]; o++ {
			w, former := &x.windows[o], &x.windows[o-1]
			w.head = max(w.head, former.head+former.length)
		}
		for o := p.first[j+1] - 2; o >= p.first[j]; o-- {
			w, next := &x.windows[o], &x.windows[o+1]
			w.tail = max(w.tail, next.tail+next.length)
		}
	}
}

func (p *prover) fits(x *proof) bool {
	for o := range x.windows {
		if w := &x.windows[o]; w.head+w.length+w.tail > p.limit {
			return false
		}
	}
	return true
}

// decide takes the only order that is left of a pair, and passes heads and tails on along what is decided.
func (p *prover) decide(x *proof) (changed, ok bool) {
	for m, ops := range p.machines {
		for i := range ops {
			for j := range i {
				follows, ok := p.pair(x, m, i, j)
				if !ok {
					return false, false
				}
				changed = changed || follows
			}
		}
	}
	return changed, true
}

func (p *prover) pair(x *proof, m, i, j int) (changed, ok bool) {
	ops := p.machines[m]
	ij, ji := &x.before[p.base[m]+i*len(ops)+j], &x.before[p.base[m]+j*len(ops)+i]
	isIJ, isJI := p.room(x, ops[i], ops[j]) >= 0, p.room(x, ops[j], ops[i]) >= 0
	switch {
	case (*ij && !isIJ) || (*ji && !isJI) || (!isIJ && !isJI):
		return false, false
	case *ij || (!*ji && !isJI):
		*ij = true
		return p.pass(x, ops[i], ops[j]), true
	case *ji || !isIJ:
		*ji = true
		return p.pass(x, ops[j], ops[i]), true
	}
	return false, true
}

// pass passes head and tail on from a to b, which is done later.
func (p *prover) pass(x *proof, a, b int32) (changed bool) {
	u, v := &x.windows[a], &x.windows[b]
	if h := u.head + u.length; h > v.head {
		v.head, changed = h, true
	}
	if t := v.tail + v.length; t > u.tail {
		u.tail, changed = t, true
	}
	return changed
}

// edgesOf lets the edge finder look at every machine.
func (p *prover) edgesOf(x *proof) (changed, ok bool) {
	for _, ops := range p.machines {
		for _, mirrored := range []bool{false, true} {
			raised, ok := p.edges.raise(ops, x.windows, p.limit, mirrored)
			if !ok {
				return false, false
			}
			changed = changed || raised
		}
	}
	return changed, true
}
