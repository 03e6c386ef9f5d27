package planner

import (
	"math"
	"math/bits"
	"slices"
)

// lane is what is taken of one worker, a bit for each slot they are there. Slots in which they are not are left
// out: a stretch of work that pauses overnight is one run of bits, as long as the work.
type lane struct {
	*axis
	taken  []uint64 // grows; what is beyond is free
	owners []int32  // of each few positions, the operation (and one) that was laid there last; 0: none
}

// ownerShift: an entry of owners is for 2^ownerShift positions.
const ownerShift = 3

// axis maps slots of the clock to positions, which count the slots somebody is there, and back.
type axis struct {
	spans   []span
	total   int     // positions
	byClock []int32 // the first span that ends after this many hundreds of slots
	byWork  []int32 // the span that holds the first position of each word
}

// span is a stretch without a pause.
type span struct{ start, end, first int } // by the clock; first: position of its start

func (s *span) last() int { return s.first + s.end - s.start }

const (
	clockShift = 7 // a table's entry for each 128 slots of the clock
)

// newAxis makes the axis of a calendar; what is fixed outside it belongs to it too, so that nothing
// can be laid across.
func newAxis(c Calendar, fixed []Window) *axis {
	a := &axis{}
	if c == nil {
		a.spans, a.total = []span{{0, math.MaxInt, 0}}, math.MaxInt
		a.byClock, a.byWork = []int32{0}, []int32{0}
		return a
	}
	for _, w := range withFixed(c, fixed) {
		a.spans = append(a.spans, span{w.Start, w.End, a.total})
		a.total += w.End - w.Start
	}
	for i := range a.spans {
		for len(a.byClock)<<clockShift < a.spans[i].end {
			a.byClock = append(a.byClock, int32(i))
		}
		for len(a.byWork)<<6 < a.spans[i].last() {
			a.byWork = append(a.byWork, int32(i))
		}
	}
	return a
}

// withFixed adds to a calendar the parts of stretches that lie outside it.
func withFixed(c Calendar, fixed []Window) Calendar {
	all := slices.Clone(c)
	for _, f := range fixed {
		from := max(0, f.Start)
		for i := 0; i <= len(all) && from < f.End; i++ {
			if i < len(all) && all[i].End <= from {
				continue
			}
			until := f.End
			if i < len(all) {
				until = min(until, all[i].Start)
			}
			if from < until {
				all = slices.Insert(all, i, Window{from, until})
			}
			from = max(from, all[i].End)
		}
	}
	return all
}

// at gives the span that holds a slot of the clock or follows it; len(spans): none does.
func (a *axis) at(t int) int {
	k := t >> clockShift
	if k >= len(a.byClock) {
		k = len(a.byClock) - 1
		if k < 0 {
			return 0
		}
	}
	i := int(a.byClock[k])
	for i < len(a.spans) && a.spans[i].end <= t {
		i++
	}
	return i
}

// position gives the first position at or after a slot of the clock.
func (a *axis) position(t int) int {
	i := a.at(t)
	if i == len(a.spans) {
		return a.total
	}
	return a.spans[i].first + max(0, t-a.spans[i].start)
}

// holds gives the span of a position below the total.
func (a *axis) holds(q int) int {
	k := min(q>>6, len(a.byWork)-1)
	i := int(a.byWork[k])
	for a.spans[i].last() <= q {
		i++
	}
	return i
}

// clock gives the slot of a position below the total.
func (a *axis) clock(q int) int {
	s := &a.spans[a.holds(q)]
	return s.start + q - s.first
}

// run gives the first position from q on with so many free ones in a row.
func (l *lane) run(q, length int) int {
	for {
		q = l.free(q)
		busy := l.busy(q, q+length)
		if busy < 0 {
			return q
		}
		q = busy
	}
}

// free gives the first free position from q on.
func (l *lane) free(q int) int {
	w := q >> 6
	if w >= len(l.taken) {
		return q
	}
	if open := ^l.taken[w] >> (q & 63); open != 0 {
		return q + bits.TrailingZeros64(open)
	}
	for w++; w < len(l.taken); w++ {
		if l.taken[w] != math.MaxUint64 {
			return w<<6 + bits.TrailingZeros64(^l.taken[w])
		}
	}
	return w << 6
}

// busy gives the first position taken of [from, to), or -1.
func (l *lane) busy(from, to int) int {
	w := from >> 6
	if w >= len(l.taken) {
		return -1
	}
	if set := l.taken[w] >> (from & 63); set != 0 {
		if q := from + bits.TrailingZeros64(set); q < to {
			return q
		}
		return -1
	}
	for w++; w < len(l.taken) && w<<6 < to; w++ {
		if l.taken[w] != 0 {
			if q := w<<6 + bits.TrailingZeros64(l.taken[w]); q < to {
				return q
			}
			return -1
		}
	}
	return -1
}

// blocked gives when the work ends that is in the way of a stretch by the clock; free: none is.
func (l *lane) blocked(w Window) (until int, free bool) {
	from, to := l.position(w.Start), l.position(w.End)
	q := l.busy(from, to)
	if q < 0 {
		return 0, true
	}
	q = l.free(q)
	if q == l.total {
		return math.MaxInt, false
	}
	return max(w.Start+1, l.clock(q-1)+1), false
}

// take takes a stretch by the clock, or gives it back.
func (l *lane) take(start, end int, on bool) {
	from, to := l.position(max(0, start)), l.position(max(0, end))
	l.taken = mark(l.taken, from, to, on)
}

// own notes whose a stretch by the clock is.
func (l *lane) own(start, end, op int) {
	from, to := l.position(max(0, start))>>ownerShift, (l.position(max(0, end))-1)>>ownerShift
	for len(l.owners) <= to {
		l.owners = append(l.owners, 0)
	}
	for cell := from; cell <= to; cell++ {
		l.owners[cell] = int32(op + 1)
	}
}

// mark sets or clears bits [from, to), and makes room for them.
func mark(all []uint64, from, to int, on bool) []uint64 {
	if from >= to {
		return all
	}
	for len(all)<<6 < to {
		all = append(all, 0)
	}
	first, last := from>>6, (to-1)>>6
	head, foot := uint64(math.MaxUint64)<<(from&63), uint64(math.MaxUint64)>>(63-(to-1)&63)
	for w := first; w <= last; w++ {
		mask := uint64(math.MaxUint64)
		if w == first {
			mask = head
		}
		if w == last {
			mask &= foot
		}
		if on {
			all[w] |= mask
		} else {
			all[w] &^= mask
		}
	}
	return all
}
