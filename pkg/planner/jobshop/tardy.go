package jobshop

// tardy searches for little weighted tardiness: the best move of the longest path to one tardy job, chosen by chance in
// the measure of what it costs. Each move is tried out, by the ends alone, so that what it comes to is exact.
type tardy struct {
	*graph
	memory
	by     *chance
	path   []int32
	moves  []move
	saved  []ended
	costs  int64 // of the present order
	best   *solution
	since  int64
	urgent []int64 // scratch, by job: what it costs
}

// ended is what an end was before a trial.
type ended struct{ op, end int32 }

func newTardy(g *graph, by *chance) *tardy {
	return &tardy{graph: g, memory: newMemory(g), by: by, best: g.newSolution(), urgent: make([]int64, g.jobs)}
}

func (t *tardy) found() *solution { return t.best }

func (t *tardy) idle() int64 { return t.since }

func (t *tardy) begin(s *solution) {
	t.load(s)
	t.costs = t.cost()
	t.keep()
}

func (t *tardy) keep() {
	t.save(t.best)
	t.best.value, t.since = t.costs, 0
}

// cost is the weighted tardiness by the ends of the jobs.
func (t *tardy) cost() (sum int64) {
	for j := range t.jobs {
		end := t.release[j]
		if t.first[j] < t.first[j+1] {
			end = t.nodes[t.first[j+1]-1].end
		}
		sum += int64(t.weight[j]) * int64(max(0, end-t.due[j]))
	}
	return sum
}

// step makes one move; false: there is none.
func (t *tardy) step() bool {
	t.now++
	t.since++
	t.moves = t.moves[:0]
	if j := t.tardyJob(); j >= 0 {
		t.path = t.pathTo(t.first[j+1]-1, t.path, t.by)
		t.gather()
	}
	if len(t.moves) == 0 {
		return t.costs > 0 && t.since < 1<<20
	}
	least, ties := int64(1)<<62, 0
	var chosen move
	for _, m := range t.moves {
		value := t.trial(m)
		if value > least || (value >= t.best.value && t.isForbidden(m)) {
			continue
		}
		if value < least {
			least, ties = value, 0
		}
		if ties++; t.by.below(ties) == 0 {
			chosen = m
		}
	}
	if ties == 0 {
		chosen = t.moves[t.by.below(len(t.moves))]
	}
	t.make(chosen)
	return true
}

func (t *tardy) make(m move) {
	t.forbid(m, t.by)
	if t.apply(m) {
		t.heads(t.low)
		t.costs = t.cost()
	}
	if t.costs < t.best.value {
		t.keep()
	}
}

// tardyJob is a job that ends late, by chance in the measure of what that costs; -1: none does.
func (t *tardy) tardyJob() int {
	sum := int64(0)
	for j := range t.jobs {
		t.urgent[j] = 0
		if t.first[j] < t.first[j+1] {
			t.urgent[j] = int64(t.weight[j]) * int64(max(0, t.nodes[t.first[j+1]-1].end-t.due[j]))
		}
		sum += t.urgent[j]
	}
	if sum == 0 {
		return -1
	}
	x := int64(t.by.unit() * float64(sum))
	for j := range t.jobs {
		if x -= t.urgent[j]; x < 0 {
			return j
		}
	}
	return -1
}

// gather lists the moves of the path: within a block, any behind its last and any before its first, and neighbours.
func (t *tardy) gather() {
	path := t.path
	for i := 0; i < len(path); {
		j := i + 1
		for j < len(path) && t.nodes[path[j]].machineBefore == path[j-1] {
			j++
		}
		if j-i > 1 {
			t.block(path[i:j])
		}
		i = j
	}
	if t.flexible {
		t.elsewhere()
	}
}

func (t *tardy) block(b []int32) {
	last := len(b) - 1
	for i := range last {
		t.moves = append(t.moves, move{b[i], b[i+1], t.mode[b[i]]})
	}
	for i := range last - 1 {
		t.moves = append(t.moves, move{b[i], b[last], t.mode[b[i]]})
	}
	for i := 2; i <= last; i++ {
		t.moves = append(t.moves, move{b[i], t.nodes[b[0]].machineBefore, t.mode[b[i]]})
	}
}

// elsewhere lists the moves of the path's operations to other machines.
func (t *tardy) elsewhere() {
	for _, o := range t.path {
		for m := t.modeAt[o]; m < t.modeAt[o+1]; m++ {
			if m != t.mode[o] {
				t.gaps(o, m)
			}
		}
	}
}

// gaps lists the places of an operation on the machine of another mode that close no circle, from the last that is
// free when it is ready.
func (t *tardy) gaps(o, mode int32) {
	nodes, none := t.nodes, int32(t.n)
	x := &nodes[o]
	ready, next := nodes[x.jobBefore].end, unknown
	if x.jobAfter != none {
		next = nodes[x.jobAfter].end
	}
	before := none
	for after := t.firstOn[t.machine[mode]]; ; after = nodes[after].machineAfter {
		if after == o {
			continue
		}
		if after == none || nodes[after].end > ready {
			t.moves = append(t.moves, move{o, before, mode})
		}
		if after == none || nodes[after].end-nodes[after].length >= next {
			return
		}
		before = after
	}
}

// trial is what a move would come to; one that closes a circle comes to more than anything.
func (t *tardy) trial(m move) int64 {
	nodes, saved := t.nodes, t.saved[:0]
	back := move{m.op, nodes[m.op].machineBefore, t.mode[m.op]}
	next := nodes[m.op].machineAfter
	if !t.apply(m) {
		return 1 << 62
	}
	reach := max(nodes[m.op].rank, nodes[nodes[m.op].machineAfter].rank, nodes[next].rank)
	for i := t.low; i <= int(reach); i++ {
		o := t.order[i]
		x := &nodes[o]
		if end := max(nodes[x.jobBefore].end, nodes[x.machineBefore].end) + x.length; end != x.end {
			saved = append(saved, ended{o, x.end})
			x.end = end
			reach = max(reach, nodes[x.jobAfter].rank, nodes[x.machineAfter].rank)
		}
	}
	sum := t.cost()
	for _, s := range saved {
		nodes[s.op].end = s.end
	}
	t.saved = saved
	t.apply(back)
	return sum
}
