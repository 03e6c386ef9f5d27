package planner

import "math"

// choose takes the most urgent block of those that could begin soonest. When something could begin only ever
// becomes later as more is placed, and its urgency less; so what was found before is a bound, and only the one
// that comes out first by these bounds is looked at anew.
func (d *dispatcher) choose() (waiting, bool) {
	for d.gather() {
		for len(d.near) > 0 {
			n := d.mostUrgent()
			i := d.near[n]
			if d.look(i) {
				return d.remove(int(i)), true
			}
			if w := &d.ready[i]; w.at > d.until || d.dead[w.block] {
				d.near[n] = d.near[len(d.near)-1]
				d.near = d.near[:len(d.near)-1]
			}
		}
	}
	return waiting{}, false
}

// gather finds the blocks that could begin within the rule's look of the first; false: there are none.
func (d *dispatcher) gather() bool {
	first := math.MaxInt
	for i := 0; i < len(d.ready); {
		if d.isPlaced(d.ready[i].block) { // with something that is pinned, or left out
			d.remove(i)
			continue
		}
		first = min(first, d.ready[i].at)
		i++
	}
	d.until, d.near = first+int(d.rule.Look), d.near[:0]
	for i := range d.ready {
		if d.ready[i].at <= d.until {
			d.near = append(d.near, int32(i))
		}
	}
	return len(d.near) > 0
}

// look looks anew when something could begin; true: still when it said.
func (d *dispatcher) look(i int32) bool {
	w := &d.ready[i]
	op := d.blocks[w.block][0]
	epoch := d.epochOf(op)
	if w.epoch == epoch {
		return true
	}
	s, ok := d.fit(op, w.at)
	switch {
	case !ok:
		d.giveUp(w.block, d.why(op))
	case int(s.start) > w.at:
		w.at, w.epoch = int(s.start), epoch
		w.urgency = d.urgency(*w)
	default:
		return true
	}
	return false
}

// mostUrgent gives where the most urgent of the blocks near is among them.
func (d *dispatcher) mostUrgent() (best int) {
	b := &d.ready[d.near[0]]
	for n, i := range d.near {
		if w := &d.ready[i]; w.urgency > b.urgency || (w.urgency == b.urgency && w.block < b.block) {
			best, b = n, w
		}
	}
	return best
}

func (d *dispatcher) remove(i int) waiting {
	w, last := d.ready[i], len(d.ready)-1
	d.ready[i] = d.ready[last]
	d.ready = d.ready[:last]
	return w
}

// epochOf changes whenever something that an operation could need is taken.
func (d *dispatcher) epochOf(op int) (sum int) {
	for i := range d.ways[op] {
		if w := d.ways[op][i].worker; w != NoWorker {
			sum += d.epochs[w]
		}
	}
	for _, w := range d.Operations[op].With {
		sum += d.epochs[w]
	}
	for _, s := range d.Operations[op].Stations {
		sum += d.epochs[len(d.Workers)+s]
	}
	return sum
}

// urgency is the logarithm of the apparent tardiness cost, less what is lost by waiting for it.
func (d *dispatcher) urgency(w waiting) float64 {
	op := d.blocks[w.block][0]
	i := d.Operations[op].Piece
	piece := &d.Pieces[i]
	u := d.press[i] + d.bonus[i] - float64(w.at)/d.rule.Look
	if piece.Due == NoDue {
		return u - 10 - float64(piece.Release)/1e6 // after all that is promised; who came first
	}
	slack := float64(piece.Due) - float64(w.at) - d.tail[op]
	return u - max(0, slack)/d.rule.Patience
}
