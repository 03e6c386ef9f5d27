package planner

import (
	"cmp"
	"slices"
)

// hot places first what a running window waits for, the one that closes first first.
func (d *dispatcher) hot() {
	type window struct{ block, closes int }
	var all []window
	for b, ops := range d.blocks {
		if at, ok := d.closing(ops); ok && d.waits[b] == 0 && !d.isPlaced(b) {
			all = append(all, window{b, at})
		}
	}
	slices.SortStableFunc(all, func(a, b window) int { return cmp.Compare(a.closes, b.closes) })
	for _, w := range all {
		d.settle(w.block, d.Now)
	}
}

// pinned places what is pinned, the earliest first, and before each all that it waits for.
func (d *dispatcher) pinned() {
	var ops []int
	for _, op := range d.order {
		if d.Operations[op].Pinned {
			ops = append(ops, op)
		}
	}
	slices.SortStableFunc(ops, func(a, b int) int { return cmp.Compare(d.Operations[a].Earliest, d.Operations[b].Earliest) })
	for _, op := range ops {
		d.placeWithBefore(op)
	}
}

// placeWithBefore places the block of an operation once all that it waits for has its place.
func (d *dispatcher) placeWithBefore(op int) {
	b := d.blockOf[op]
	if b < 0 || d.isPlaced(b) {
		return
	}
	for _, o := range d.blocks[b] {
		for _, l := range d.in[o] {
			if from := d.Lags[l].From; d.blockOf[from] != b {
				d.placeWithBefore(from)
			}
		}
	}
	if !d.isPlaced(b) {
		d.settle(b, d.Now)
	}
}
