package jobshop

// reorder mends the topological order after an operation was linked anew.
func (g *graph) reorder(op int32) bool {
	none := int32(g.n)
	x := &g.nodes[op]
	g.low, g.high = int(x.rank), int(x.rank)
	if b := x.machineBefore; b != none && g.nodes[b].rank > x.rank {
		return g.delay(int(x.rank), int(g.nodes[b].rank))
	}
	if a := x.machineAfter; a != none && g.nodes[a].rank < x.rank {
		return g.advance(int(g.nodes[a].rank), int(x.rank))
	}
	return true
}

// delay moves the first operation of a stretch of the order, and what of the stretch hangs on it, behind the last.
func (g *graph) delay(low, high int) bool {
	nodes, order, late, n := g.nodes, g.order, g.late, 1
	g.wall[0] = order[low]
	late[order[low]] = true
	ok := true
	for i := low + 1; i <= high; i++ {
		o := order[i]
		if x := &nodes[o]; late[x.jobBefore] || late[x.machineBefore] {
			late[o] = true
			g.wall[n] = o
			n++
			ok = i != high
		}
	}
	if ok {
		to := low
		for i := low + 1; i <= high; i++ {
			if o := order[i]; !late[o] {
				order[to], nodes[o].rank = o, int32(to)
				to++
			}
		}
		for i, o := range g.wall[:n] {
			order[to+i], nodes[o].rank = o, int32(to+i)
		}
		g.low, g.high = low, high
	}
	for _, o := range g.wall[:n] {
		late[o] = false
	}
	return ok
}

// advance moves the last operation of a stretch of the order, and what of the stretch it hangs on, before the first.
func (g *graph) advance(low, high int) bool {
	nodes, order, late, n := g.nodes, g.order, g.late, 1
	g.wall[0] = order[high]
	late[order[high]] = true
	ok := true
	for i := high - 1; i >= low; i-- {
		o := order[i]
		if x := &nodes[o]; late[x.jobAfter] || late[x.machineAfter] {
			late[o] = true
			g.wall[n] = o
			n++
			ok = i != low
		}
	}
	if ok {
		to := high
		for i := high - 1; i >= low; i-- {
			if o := order[i]; !late[o] {
				order[to], nodes[o].rank = o, int32(to)
				to--
			}
		}
		for i, o := range g.wall[:n] {
			order[to-i], nodes[o].rank = o, int32(to-i)
		}
		g.low, g.high = low, high
	}
	for _, o := range g.wall[:n] {
		late[o] = false
	}
	return ok
}
