package jobshop

// relinker goes from one solution towards another.
type relinker struct {
	*core
	rank   []int32 // of the other, by operation
	turned []int32 // places of the order at which two neighbours stand the other way round in the other solution
	where  []int32 // by place: index in turned, or -1
}

func newRelinker(c *core) *relinker {
	return &relinker{core: c, rank: make([]int32, c.n), where: make([]int32, c.n)}
}

// distance is in how many pairs of operations of a machine the two differ, and in how many modes.
func (r *relinker) distance(a, b *solution) (d int) {
	for i, o := range b.order {
		r.rank[o] = int32(i)
	}
	for i, o := range a.order {
		m := r.machine[a.mode[o]]
		if r.machine[b.mode[o]] != m {
			d++
			continue
		}
		for _, p := range a.order[i+1:] {
			if r.machine[a.mode[p]] == m && r.machine[b.mode[p]] == m && r.rank[p] < r.rank[o] {
				d++
			}
		}
	}
	return d
}

// between writes into child what lies part of the way from a to b. Two neighbours in the topological order of a that
// stand the other way round in b's change places, again and again, any of them first: neighbours of one job never do,
// so that whatever lies on the way is feasible.
func (r *relinker) between(a, b, child *solution, by *chance) {
	far := r.distance(a, b)
	child.copyFrom(a)
	steps := far/3 + by.below(far/3+1)
	r.walk(child, b, steps, by)
}

func (r *relinker) walk(s, to *solution, steps int, by *chance) {
	for i, o := range to.order {
		r.rank[o] = int32(i)
	}
	r.turned = r.turned[:0]
	for i := range r.where {
		r.where[i] = -1
	}
	for i := range len(s.order) - 1 {
		r.look(s, i)
	}
	steps -= r.switchModes(s, to, steps, by)
	for steps > 0 && len(r.turned) > 0 {
		i := int(r.turned[by.below(len(r.turned))])
		o, p := s.order[i], s.order[i+1]
		if r.machine[s.mode[o]] == r.machine[s.mode[p]] {
			steps--
		}
		s.order[i], s.order[i+1] = p, o
		r.look(s, i)
		if i > 0 {
			r.look(s, i-1)
		}
		if i+2 < len(s.order) {
			r.look(s, i+1)
		}
	}
}

// switchModes gives some operations the mode that they have in the other.
func (r *relinker) switchModes(s, to *solution, steps int, by *chance) (switched int) {
	if !r.flexible {
		return 0
	}
	share := 0.3 + 0.4*by.unit()
	for o := range s.mode {
		if s.mode[o] != to.mode[o] && by.unit() < share && switched < steps {
			s.mode[o] = to.mode[o]
			switched++
		}
	}
	return switched
}

// look notes whether the neighbours at a place stand the other way round in the other solution.
func (r *relinker) look(s *solution, i int) {
	is := r.rank[s.order[i]] > r.rank[s.order[i+1]]
	at := r.where[i]
	switch {
	case is && at < 0:
		r.where[i] = int32(len(r.turned))
		r.turned = append(r.turned, int32(i))
	case !is && at >= 0:
		last := r.turned[len(r.turned)-1]
		r.turned[at], r.where[last] = last, at
		r.where[i] = -1
		r.turned = r.turned[:len(r.turned)-1]
	}
}
