package planner

// settle places a block and offers what only waited for it. It reports whether to go on.
func (d *dispatcher) settle(b, t int) bool {
	if !d.putBlock(d.blocks[b], t) {
		d.giveUp(b, d.why(d.blocks[b][0]))
		return true
	}
	for _, op := range d.blocks[b] {
		for _, l := range d.out[op] {
			d.lessens(d.blockOf[d.Lags[l].To], b)
		}
	}
	return d.after == nil || d.after(b)
}

func (d *dispatcher) lessens(next, b int) {
	if next < 0 || next == b {
		return
	}
	if d.waits[next]--; d.waits[next] == 0 && !d.isPlaced(next) {
		d.offer(next)
	}
}

// giveUp leaves a block out, and all that waits for it.
func (d *dispatcher) giveUp(b int, why Why) {
	if d.dead[b] {
		return
	}
	d.dead[b] = true
	for _, op := range d.blocks[b] {
		d.left = append(d.left, Unplaced{op, why})
	}
	for _, op := range d.blocks[b] {
		for _, l := range d.out[op] {
			if next := d.blockOf[d.Lags[l].To]; next >= 0 && next != b {
				d.giveUp(next, BeforeIt)
			}
		}
	}
}

// why tells whether an operation could be done on an empty floor.
func (d *dispatcher) why(op int) Why {
	empty := &floor{compiled: d.compiled, lanes: make([]lane, len(d.lanes)), rooms: make([]room, len(d.rooms))}
	for i := range empty.lanes {
		empty.lanes[i].axis = d.axes[i]
	}
	for i := range empty.rooms {
		empty.rooms[i].capacity = d.rooms[i].capacity
	}
	if _, ok := empty.fit(op, d.Now); ok {
		return AfterHorizon
	}
	return NobodyCan
}
