package planner

import (
	"math"
	"math/bits"
)

// room is what is taken of one station, for each slot of the clock.
type room struct {
	capacity int
	used     []uint16 // grows; what is beyond is empty
	full     []uint64 // a bit for each slot: not one unit is left
	owners   []int32  // of each few slots, two operations (and one) that were laid there last; 0: none
}

// roomShift: two entries of owners are for 2^roomShift slots.
const roomShift = 4

// own notes whose a stretch is.
func (r *room) own(start, end, op int) {
	from, to := max(0, start)>>roomShift, (end-1)>>roomShift
	for len(r.owners) <= 2*to+1 {
		r.owners = append(r.owners, 0)
	}
	for cell := from; cell <= to; cell++ {
		r.owners[2*cell+op&1] = int32(op + 1)
	}
}

// blocked gives when a stretch with too little room ends that is in the way; free: none is. Of several it
// takes the last.
func (r *room) blocked(start, end, demand int) (until int, free bool) {
	if start == end {
		return 0, true
	}
	if demand > 1 {
		return r.crowded(start, end, demand)
	}
	last := r.lastFull(start, end)
	if last < 0 {
		return 0, true
	}
	w := last >> 6
	if open := ^r.full[w] >> (last & 63); open != 0 {
		return last + bits.TrailingZeros64(open), false
	}
	for w++; w < len(r.full) && r.full[w] == math.MaxUint64; w++ {
	}
	if w == len(r.full) {
		return w << 6, false
	}
	return w<<6 + bits.TrailingZeros64(^r.full[w]), false
}

// lastFull gives the last full slot of [start, end), or -1.
func (r *room) lastFull(start, end int) int {
	end = min(end, len(r.full)<<6)
	if start >= end {
		return -1
	}
	first, w := start>>6, (end-1)>>6
	set := r.full[w] & (math.MaxUint64 >> (63 - (end-1)&63))
	for set == 0 && w > first {
		w--
		set = r.full[w]
	}
	if last := w<<6 + 63 - bits.LeadingZeros64(set); set != 0 && last >= start {
		return last
	}
	return -1
}

// crowded is blocked for more than one unit.
func (r *room) crowded(start, end, demand int) (until int, free bool) {
	for t := min(end, len(r.used)) - 1; t >= start; t-- {
		if int(r.used[t])+demand <= r.capacity {
			continue
		}
		for t++; t < len(r.used) && int(r.used[t])+demand > r.capacity; t++ {
		}
		return t, false
	}
	return 0, true
}

// take takes units from start to end, or gives them back.
func (r *room) take(start, end, demand int, on bool) {
	start = max(0, start)
	for len(r.used) < end {
		r.used = append(r.used, make([]uint16, 64)...)
		r.full = append(r.full, 0)
	}
	if !on {
		demand = -demand
	}
	if start >= end {
		return
	}
	stretch := r.used[start:end]
	for i := range stretch {
		stretch[i] += uint16(demand)
		t := start + i
		bit := uint64(1) << (t & 63)
		if int(stretch[i]) >= r.capacity {
			r.full[t>>6] |= bit
		} else {
			r.full[t>>6] &^= bit
		}
	}
}
