package jobshop

// tabu searches from one order to the next: the best move of one critical path that is not forbidden, even if it makes
// the schedule longer.
type tabu struct {
	*graph
	memory
	by     *chance
	path   []int32
	best   *solution // of the present descent
	since  int64     // moves since best got better
	ends   []int32   // scratch
	choice choice
}

// choice is the best move met so far, and any of those met.
type choice struct {
	move   move
	length int32 // the estimate
	ties   int
	any    move
	met    int
}

const unknown = int32(1) << 30

func newTabu(g *graph, by *chance) *tabu {
	return &tabu{graph: g, memory: newMemory(g), by: by, best: g.newSolution(), ends: make([]int32, g.n+1)}
}

// begin starts a descent from a solution.
func (t *tabu) begin(s *solution) {
	t.load(s)
	t.keep()
}

func (t *tabu) keep() {
	t.save(t.best)
	t.best.value, t.since = int64(t.makes), 0
}

// step makes one move; false: there is none.
func (t *tabu) step() bool {
	t.now++
	t.since++
	t.path = t.criticalPath(t.path, t.by)
	t.choice = choice{length: unknown}
	t.blocks()
	if t.flexible {
		t.elsewhere()
	}
	c := &t.choice
	if c.met == 0 {
		return false
	}
	if c.ties == 0 {
		c.move = c.any
	}
	t.forbid(c.move, t.by)
	if t.apply(c.move) {
		t.heads(t.low)
		t.tails(t.high)
		t.makes = t.longest()
	}
	if int64(t.makes) < t.best.value {
		t.keep()
	}
	return true
}

// blocks looks at the moves within the blocks of the path: stretches of one machine of two operations or more.
func (t *tabu) blocks() {
	path := t.path
	atOnce := len(path) > 0 && t.nodes[path[0]].end == t.nodes[path[0]].length // it waits for no release
	for i := 0; i < len(path); {
		j := i + 1
		for j < len(path) && t.on[path[j]] == t.on[path[i]] && t.nodes[path[j]].machineBefore == path[j-1] {
			j++
		}
		if j-i > 1 {
			t.block(path[i:j], i == 0 && atOnce, j == len(path))
		}
		i = j
	}
}

// block looks at the moves of one block: any operation behind its last or before its first, and the first and the
// last to anywhere within. Within the first block nothing is won by its beginning, within the last nothing by its end.
func (t *tabu) block(b []int32, isFirst, isLast bool) {
	last := len(b) - 1
	if last == 1 {
		if !isFirst || !isLast {
			t.behind(b, 0, 1)
		}
		return
	}
	if !isLast {
		for i := range last {
			t.behind(b, i, last)
		}
	}
	if !isFirst {
		for i := 1; i <= last; i++ {
			t.before(b, i, 0)
		}
		for i := 1; i < last; i++ {
			t.behind(b, 0, i)
		}
	}
	if !isLast {
		for i := 1; i < last; i++ {
			t.before(b, last, i)
		}
	}
}

// behind looks at the move of b[i] right behind b[j], j > i.
func (t *tabu) behind(b []int32, i, j int) {
	nodes := t.nodes
	u, v := b[i], b[j]
	x, y := &nodes[u], &nodes[v]
	if y.tail < nodes[x.jobAfter].tail {
		return // the job's next could be what v waits for
	}
	c := &t.choice
	c.meet(move{u, v, t.mode[u]}, t.by)
	end, ends := nodes[x.machineBefore].end, t.ends
	for k := i + 1; k <= j; k++ {
		w := &nodes[b[k]]
		end = max(nodes[w.jobBefore].end, end) + w.length
		ends[k] = end
	}
	end = max(nodes[x.jobBefore].end, end) + x.length
	tail := max(nodes[x.jobAfter].tail, nodes[y.machineAfter].tail)
	most := end + tail
	tail += x.length
	for k := j; k > i; k-- {
		w := &nodes[b[k]]
		tail = max(nodes[w.jobAfter].tail, tail)
		most = max(most, ends[k]+tail)
		tail += w.length
	}
	if most > c.length {
		return
	}
	if int64(most) >= t.best.value {
		for k := i + 1; k <= j; k++ {
			if t.pairs[int(b[k])*t.jobs+int(t.jobOf[u])] >= t.now {
				return
			}
		}
	}
	t.take(move{u, v, t.mode[u]}, most)
}

// before looks at the move of b[i] right before b[j], j < i.
func (t *tabu) before(b []int32, i, j int) {
	nodes := t.nodes
	u, v := b[i], b[j]
	x, y := &nodes[u], &nodes[v]
	if y.end < nodes[x.jobBefore].end {
		return // v could be what the job's former waits for
	}
	c := &t.choice
	m := move{u, y.machineBefore, t.mode[u]}
	c.meet(m, t.by)
	tail, ends := nodes[x.machineAfter].tail, t.ends
	for k := i - 1; k >= j; k-- {
		w := &nodes[b[k]]
		tail = max(nodes[w.jobAfter].tail, tail) + w.length
		ends[k] = tail
	}
	tail = max(nodes[x.jobAfter].tail, tail)
	end := max(nodes[x.jobBefore].end, nodes[y.machineBefore].end) + x.length
	most := end + tail
	for k := j; k < i; k++ {
		w := &nodes[b[k]]
		end = max(nodes[w.jobBefore].end, end)
		most = max(most, end+ends[k])
		end += w.length
	}
	if most > c.length {
		return
	}
	if int64(most) >= t.best.value {
		for k := j; k < i; k++ {
			if t.pairs[int(u)*t.jobs+int(t.jobOf[b[k]])] >= t.now {
				return
			}
		}
	}
	t.take(m, most)
}

// meet counts a move that could be made, and keeps any one of them.
func (c *choice) meet(m move, by *chance) {
	c.met++
	if c.met == 1 || by.below(c.met) == 0 {
		c.any = m
	}
}

// take takes a move that is at least as good as the best so far; of equal ones, any.
func (t *tabu) take(m move, length int32) {
	c := &t.choice
	if length == c.length {
		if c.ties++; t.by.below(c.ties) != 0 {
			return
		}
	} else {
		c.ties = 1
	}
	c.move, c.length = m, length
}

func (t *tabu) found() *solution { return t.best }

func (t *tabu) idle() int64 { return t.since }
