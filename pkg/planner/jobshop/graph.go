package jobshop

// node is an operation in the disjunctive graph. Its end is the length of the longest path up to and with it, its
// tail that of the longest path from its start on, so that end + tail - length is the longest path through it.
type node struct {
	jobBefore, jobAfter         int32
	machineBefore, machineAfter int32
	length                      int32
	end, tail                   int32
	rank                        int32 // place in the topological order
}

// graph is a feasible order with all that the search asks of it. Node n stands for nobody: it ends at 0, has no tail
// and is never changed by a sweep. After it comes one for each job's release.
type graph struct {
	*core
	nodes   []node
	order   []int32 // topological
	mode    []int32 // by operation
	on      []int32 // by operation: its machine
	at      []int32 // by operation: its place on the machine
	firstOn []int32 // by machine: its first operation
	makes   int32   // the makespan
	wall    []int32 // scratch: what moves behind, or before, a stretch of the order
	late    []bool  // scratch, by node: moves behind, or before; false for all between calls
	low     int     // where the order last changed
	high    int
}

func newGraph(c *core) *graph {
	g := &graph{core: c, nodes: make([]node, c.n+1+c.jobs), order: make([]int32, c.n), mode: make([]int32, c.n),
		on: make([]int32, c.n), at: make([]int32, c.n), firstOn: make([]int32, c.machines),
		wall: make([]int32, c.n), late: make([]bool, c.n+1+c.jobs)}
	none := int32(c.n)
	for j := range c.jobs {
		g.nodes[c.n+1+j].end = c.release[j]
		for o := c.first[j]; o < c.first[j+1]; o++ {
			g.nodes[o].jobBefore, g.nodes[o].jobAfter = o-1, o+1
		}
		if c.first[j] < c.first[j+1] {
			g.nodes[c.first[j]].jobBefore = none + 1 + int32(j)
			g.nodes[c.first[j+1]-1].jobAfter = none
		}
	}
	return g
}

// load takes over a solution.
func (g *graph) load(s *solution) {
	copy(g.order, s.order)
	copy(g.mode, s.mode)
	none := int32(g.n)
	last := g.wall[:0]
	for m := range g.firstOn {
		g.firstOn[m] = none
	}
	last = g.lastOnes(last, none)
	for i, o := range g.order {
		m := g.machine[g.mode[o]]
		x := &g.nodes[o]
		g.on[o], x.rank, x.length = m, int32(i), g.duration[g.mode[o]]
		x.machineBefore, x.machineAfter = last[m], none
		if last[m] == none {
			g.firstOn[m], g.at[o] = o, 0
		} else {
			g.nodes[last[m]].machineAfter, g.at[o] = o, g.at[last[m]]+1
		}
		last[m] = o
	}
	g.heads(0)
	g.tails(g.n - 1)
	g.makes = g.longest()
}

func (g *graph) lastOnes(buf []int32, none int32) []int32 {
	for range g.machines {
		buf = append(buf, none)
	}
	return buf
}

// save writes the order down.
func (g *graph) save(s *solution) {
	copy(s.order, g.order)
	copy(s.mode, g.mode)
}

// heads works the ends out anew from a place of the order on.
func (g *graph) heads(from int) {
	nodes := g.nodes
	for _, o := range g.order[from:] {
		x := &nodes[o]
		x.end = max(nodes[x.jobBefore].end, nodes[x.machineBefore].end) + x.length
	}
}

// tails works the tails out anew from a place of the order back to its beginning.
func (g *graph) tails(from int) {
	nodes, order := g.nodes, g.order[:from+1]
	for i := len(order) - 1; i >= 0; i-- {
		x := &nodes[order[i]]
		x.tail = max(nodes[x.jobAfter].tail, nodes[x.machineAfter].tail) + x.length
	}
}

// longest is the makespan by the ends of the jobs.
func (g *graph) longest() (most int32) {
	for j := range g.jobs {
		if g.first[j] < g.first[j+1] {
			most = max(most, g.nodes[g.first[j+1]-1].end)
		}
	}
	return most
}

// move takes an operation from its place and puts it right after another on the machine of a mode, or first there.
type move struct {
	op, after int32 // after: an operation, or n: first
	mode      int32
}

// apply makes a move and keeps the topological order; ends and tails are the caller's to sweep, from low and from
// high. A move that would close a circle changes nothing and gives false.
func (g *graph) apply(m move) bool {
	old := move{m.op, g.nodes[m.op].machineBefore, g.mode[m.op]}
	if old.after == m.after && g.on[m.op] == g.machine[m.mode] {
		g.setMode(m.op, m.mode)
		g.low, g.high = int(g.nodes[m.op].rank), int(g.nodes[m.op].rank)
		return true
	}
	g.relink(m)
	if !g.reorder(m.op) {
		g.relink(old)
		return false
	}
	return true
}

func (g *graph) setMode(op, mode int32) {
	g.mode[op], g.on[op], g.nodes[op].length = mode, g.machine[mode], g.duration[mode]
}

// relink takes an operation out of its machine's chain and into another place, and counts places anew.
func (g *graph) relink(m move) {
	none := int32(g.n)
	x := &g.nodes[m.op]
	from, before, after, was := g.on[m.op], x.machineBefore, x.machineAfter, g.at[m.op]
	g.nodes[after].machineBefore = before
	if before == none {
		g.firstOn[from] = after
	} else {
		g.nodes[before].machineAfter = after
	}
	g.setMode(m.op, m.mode)
	to := g.on[m.op]
	next := g.firstOn[to]
	if m.after != none {
		next = g.nodes[m.after].machineAfter
		g.nodes[m.after].machineAfter = m.op
	} else {
		g.firstOn[to] = m.op
	}
	x.machineBefore, x.machineAfter = m.after, next
	g.nodes[next].machineBefore = m.op
	g.recount(m, from, after, was)
}

// recount sets the places of what stands behind where an operation was, and from where it is now.
func (g *graph) recount(m move, from, after, was int32) {
	none := int32(g.n)
	place := int32(0)
	if m.after != none {
		place = g.at[m.after] + 1
	}
	switch to := g.on[m.op]; {
	case to != from:
		for o := after; o != none; o = g.nodes[o].machineAfter {
			g.at[o]--
		}
		for o := m.op; o != none; o = g.nodes[o].machineAfter {
			g.at[o] = place
			place++
		}
	case place > was: // went back: what it jumped over moves up
		for o := after; o != m.op; o = g.nodes[o].machineAfter {
			g.at[o]--
		}
		g.at[m.op] = place - 1
	default:
		for o := m.op; place <= was; o = g.nodes[o].machineAfter {
			g.at[o] = place
			place++
		}
	}
}
