package project

import "sort"

// lit is a bound: of side 2a that activity a starts at value or later, of side 2a+1 that it starts at -value or
// earlier. So bounds of both sides only ever rise, and the opposite of (x, v) is (x^1, 1-v).
type lit struct{ x, v int32 }

func (l lit) not() lit { return lit{l.x ^ 1, 1 - l.v} }

// entry is a bound that rose, and why.
type entry struct {
	x, old int32
	before int32 // the entry of the same side before it; -1: it has none
	from   int32 // where its reason begins among reasons; decided, or the nogood it comes from: see ofNogood
	to     int32
}

const decided = -1

// ofNogood tells a reason that is a nogood from its number, and the other way.
func ofNogood(n int32) int32 { return -2 - n }

// trail holds the bounds as they are, with how they came to be.
type trail struct {
	bound   []int32 // of each side
	latest  []int32 // of each side, its last entry; -1: it has its first bound
	entries []entry
	reasons []lit
	levels  []int32 // of each decision, the number of entries before it
	marks   []int32 // and of reasons
}

func newTrail(activities int, first func(x int) int) *trail {
	t := &trail{bound: make([]int32, 2*activities), latest: make([]int32, 2*activities)}
	for x := range t.bound {
		t.bound[x], t.latest[x] = int32(first(x)), -1
	}
	return t
}

func (t *trail) holds(l lit) bool { return t.bound[l.x] >= l.v }
func (t *trail) fails(l lit) bool { return t.holds(l.not()) }

// low and high are the earliest and the latest start of an activity.
func (t *trail) low(a int) int  { return int(t.bound[2*a]) }
func (t *trail) high(a int) int { return -int(t.bound[2*a+1]) }

// raise notes that a bound rose. Its reason is what reasons has from an index on.
func (t *trail) raise(l lit, from int32) {
	t.entries = append(t.entries, entry{l.x, t.bound[l.x], t.latest[l.x], from, int32(len(t.reasons))})
	t.bound[l.x], t.latest[l.x] = l.v, int32(len(t.entries)-1)
}

// since gives the entry with which a bound that holds began to; -1: it always did.
func (t *trail) since(l lit) int32 {
	e := t.latest[l.x]
	for e >= 0 && t.entries[e].old >= l.v {
		e = t.entries[e].before
	}
	return e
}

// always gives the bound of a side that holds whatever is decided.
func (t *trail) always(x int) int {
	if len(t.levels) == 0 {
		return int(t.bound[x])
	}
	v := t.bound[x]
	for e := t.latest[x]; e >= t.levels[0]; e = t.entries[e].before {
		v = t.entries[e].old
	}
	return int(v)
}

// level gives after how many decisions an entry came.
func (t *trail) level(e int32) int {
	return sort.Search(len(t.levels), func(i int) bool { return t.levels[i] > e })
}

func (t *trail) decide(l lit) {
	t.levels, t.marks = append(t.levels, int32(len(t.entries))), append(t.marks, int32(len(t.reasons)))
	t.raise(l, decided)
}

// back undoes all after so many decisions.
func (t *trail) back(level int) {
	if level >= len(t.levels) {
		return
	}
	keep := t.levels[level]
	for i := int32(len(t.entries)) - 1; i >= keep; i-- {
		e := &t.entries[i]
		t.bound[e.x], t.latest[e.x] = e.old, e.before
	}
	t.entries, t.reasons = t.entries[:keep], t.reasons[:t.marks[level]]
	t.levels, t.marks = t.levels[:level], t.marks[:level]
}
