package planner

import (
	"math"
	"slices"
)

// shortLook is in what time a place is looked for first, as one that is found in it need not be looked for in all the
// rest: two weeks, as most calendars repeat by the week. Where there is none all is looked at, for days off may end later.
const shortLook = 14 * 24 * 60

// fits tells whether there is a place for all of the operations, or whether the allowance was spent before that was known.
func (e *explainer) fits(p *Problem) bool {
	begin := p.Now
	for _, op := range e.ops {
		o := &p.Operations[op]
		begin = max(begin, o.Earliest, p.Pieces[o.Piece].Release)
	}
	short := *p
	short.Horizon = begin + shortLook
	return short.Horizon < p.Horizon && e.fitsBefore(&short) || e.fitsBefore(p)
}

// fitsBefore tells whether there is a place for all of some operations, which are given in order, with all they wait for
// but what is fixed. Unlike what makes plans it tries everything: of each operation when it may begin in each way,
// narrowed by what that leaves to others; then one way after the other; then the least times of these ways, and
// where two of them meet at somebody's hands or a station, the one later and the other later.
//
// Source: constraint propagation on temporal networks (Dechter, Meiri and Pearl, Artificial Intelligence 49 (1991)
// 61-95); least starts by longest paths (Bellman, Quarterly of Applied Mathematics 16 (1958) 87-90).
func (e *explainer) fitsBefore(p *Problem) bool {
	t, index, tied := newTrial(e, p), map[int]int{}, make([]bool, len(e.ops))
	var all [][]starts
	for i, op := range t.ops {
		index[op] = i
		all = append(all, t.startsOf(i))
	}
	for _, lag := range p.Lags {
		from, in := index[lag.From]
		if to, out := index[lag.To]; in && out {
			t.lags = append(t.lags, Lag{from, to, lag.Min, lag.Max})
			tied[from], tied[to] = tied[from] || lag.Max != Forever, tied[to] || lag.Max != Forever
		}
	}
	for _, now := range []bool{true, false} {
		for i := range t.ops {
			if tied[i] == now {
				t.turns = append(t.turns, i)
			}
		}
	}
	return t.try(all)
}

// trial looks for places of operations, which it counts from 0.
type trial struct {
	*Problem
	*explainer
	alike       // of the people and stations of this problem
	lags  []Lag // between the operations
	turns []int // in which their ways are tried: those first that longest waits tie to others
}

// try tells whether each operation may begin at one of its starts, unless the allowance is spent.
func (t *trial) try(all [][]starts) bool {
	if t.spent() {
		return true
	}
	if _, ok := t.least(all); !ok || !t.narrow(all) {
		return false
	}
	for _, i := range t.turns {
		if len(all[i]) > 1 {
			return slices.ContainsFunc(all[i], func(s starts) bool { return t.with(all, i, s) })
		}
	}
	at, ok := t.least(all)
	if !ok {
		return false
	}
	ways := t.meeting(all, at)
	return len(ways) == 0 || slices.ContainsFunc(ways, func(w sequel) bool { return t.follow(all, w) })
}

// with tries one way of an operation.
func (t *trial) with(all [][]starts, i int, s starts) bool {
	part := slices.Clone(all)
	part[i] = []starts{s}
	return t.try(part)
}

// least gives what no start can be below; where each operation has one way left, these are starts that keep all
// between them but what meets. Not ok: some operation can begin nowhere, or each raises another without end.
func (t *trial) least(all [][]starts) (at []Minute, ok bool) {
	n := len(all)
	at, ends, last, short, long := make([]Minute, n), make([]Minute, n), make([]Minute, n), make([]int, n), make([]int, n)
	for i, each := range all {
		at[i], ends[i], last[i], short[i], long[i] = math.MaxInt, math.MinInt, math.MinInt, math.MaxInt, 0
		t.spend(len(each))
		for _, s := range each {
			at[i], last[i], short[i], long[i] = min(at[i], s.first), max(last[i], s.last), min(short[i], s.length), max(long[i], s.length)
		}
		if len(each) == 0 {
			return nil, false
		}
	}
	for pass := 0; pass <= 2*n+1; pass++ {
		changed := false
		t.spend(2*n + len(t.lags))
		raise := func(x *Minute, to Minute) {
			if to > *x {
				*x, changed = to, true
			}
		}
		for i := range at {
			raise(&ends[i], at[i]+short[i])
		}
		for _, l := range t.lags {
			raise(&at[l.To], ends[l.From]+l.Min)
			if l.Max != Forever {
				raise(&ends[l.From], at[l.To]-l.Max)
			}
		}
		for i := range at {
			if raise(&at[i], ends[i]-long[i]); at[i] > last[i] {
				return nil, false
			}
		}
		if !changed {
			return at, true
		}
	}
	return nil, false
}

// mostNarrowings bounds a narrowing that goes on minute by minute; trying finds what it leaves.
const mostNarrowings = 40

// narrow takes out starts that some lag leaves nothing for; false: an operation has none left.
func (t *trial) narrow(all [][]starts) bool {
	for pass, changed := 0, true; changed && pass < mostNarrowings && !t.spent(); pass++ {
		changed = false
		for _, l := range t.lags {
			t.spend(len(all[l.From]) + len(all[l.To]))
			from, to := within(all[l.From], before(all[l.To], l), true), []starts(nil)
			if len(from) > 0 {
				to = within(all[l.To], after(from, l), false)
			}
			if len(to) == 0 {
				return false
			}
			changed = changed || &from[0] != &all[l.From][0] || &to[0] != &all[l.To][0]
			all[l.From], all[l.To] = from, to
		}
	}
	return true
}
