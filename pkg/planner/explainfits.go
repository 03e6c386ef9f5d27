package planner

import (
	"math"
	"slices"
)

// mostSteps is how many partial answers are looked at before it counts as possible that operations fit.
const mostSteps = 3000

// fits tells whether there is a place for all of some operations, which are given in order, with all they wait for
// but what is fixed. Unlike what makes plans it tries everything: of each operation when it may begin in each way,
// narrowed by what that leaves to others; then one way after the other; then the least times of these ways, and
// where two of them meet at somebody's hands or a station, the one later and the other later.
//
// Source: constraint propagation on temporal networks (Dechter, Meiri and Pearl, Artificial Intelligence 49 (1991)
// 61-95); least starts by longest paths (Bellman, Quarterly of Applied Mathematics 16 (1958) 87-90).
func fits(p *Problem, ops []int) bool {
	t, index, tied := &trial{Problem: p, ops: ops}, map[int]int{}, make([]bool, len(ops))
	var all [][]starts
	for i, op := range ops {
		index[op] = i
		all = append(all, p.startsOf(op))
	}
	for _, lag := range p.Lags {
		from, in := index[lag.From]
		if to, out := index[lag.To]; in && out {
			t.lags = append(t.lags, Lag{from, to, lag.Min, lag.Max})
			tied[from], tied[to] = tied[from] || lag.Max != Forever, tied[to] || lag.Max != Forever
		}
	}
	for _, now := range []bool{true, false} {
		for i := range ops {
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
	ops   []int
	lags  []Lag // between them
	turns []int // in which their ways are tried: those first that longest waits tie to others
	steps int
}

// try tells whether each operation may begin at one of its starts.
func (t *trial) try(all [][]starts) bool {
	if t.steps++; t.steps > mostSteps {
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
		for _, s := range each {
			at[i], last[i], short[i], long[i] = min(at[i], s.first), max(last[i], s.last), min(short[i], s.length), max(long[i], s.length)
		}
		if len(each) == 0 {
			return nil, false
		}
	}
	for pass := 0; pass <= 2*n+1; pass++ {
		changed := false
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
	for pass, changed := 0, true; changed && pass < mostNarrowings; pass++ {
		changed = false
		for _, l := range t.lags {
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
