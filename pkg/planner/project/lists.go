package project

import (
	"math/rand/v2"
	"slices"
)

// lists makes plans of projects without longest lags: activities one after the other in the order of a list, each as
// early as it fits (serial schedule generation: Kelley 1963; Kolisch, European Journal of Operational Research 90
// (1996) 320-333), then all pushed to the end and back to the beginning as long as that shortens it (forward-backward
// improvement: Tormos and Lova, Annals of Operations Research 102 (2001) 65-81). It betters a list by moving a few
// activities in it, and takes what is not worse.
type lists struct {
	*Project
	random  *rand.Rand
	before  [][]arc // of each activity, what it follows and by how much
	after   [][]arc
	order   []int   // each after what it follows
	taken   [][]int // of each resource, at each time
	current []int   // starts
	length  int
	best    []int
	least   int
	idle    int // tries since there was anything better
}

// newLists is nil for a project that has longest lags.
func newLists(p *Project, seed uint64) *lists {
	l := &lists{Project: p, random: rand.New(rand.NewPCG(seed, 1)), before: make([][]arc, len(p.Activities)), after: make([][]arc, len(p.Activities))}
	for _, g := range p.Lags {
		if g.Min < 0 {
			return nil
		}
		l.before[g.To] = append(l.before[g.To], arc{int32(g.From), int32(g.Min)})
		l.after[g.From] = append(l.after[g.From], arc{int32(g.To), int32(g.Min)})
	}
	horizon := p.horizon() + 1
	if horizon*max(1, len(p.Capacities)) > 1<<22 {
		return nil
	}
	for range p.Capacities {
		l.taken = append(l.taken, make([]int, horizon))
	}
	if !l.first() {
		return nil
	}
	return l
}

// first plans in an order in which each comes after what it follows; false: there is none, or it fits nowhere.
func (l *lists) first() bool {
	l.order = l.sorted()
	for _, it := range l.Activities {
		for r, d := range it.Demands {
			if d > l.Capacities[r] {
				return false
			}
		}
	}
	if len(l.order) < len(l.Activities) {
		return false
	}
	l.current = make([]int, len(l.order))
	l.length = l.forward(l.order, l.current)
	l.best, l.least = slices.Clone(l.current), l.length
	return true
}

// sorted is an order in which each activity comes after what it follows; some are missing where there is a circle.
func (l *lists) sorted() (order []int) {
	waits := make([]int, len(l.Activities))
	for a := range waits {
		waits[a] = len(l.before[a])
		if waits[a] == 0 {
			order = append(order, a)
		}
	}
	for i := 0; i < len(order); i++ {
		for _, g := range l.after[order[i]] {
			if waits[g.to]--; waits[g.to] == 0 {
				order = append(order, int(g.to))
			}
		}
	}
	return order
}

// better tries so many lists.
func (l *lists) better(tries int) {
	next := make([]int, len(l.current))
	for range tries {
		length := l.shorten(next, l.forward(l.moved(), next))
		l.idle++
		astray := l.idle%400 == 0 && length <= l.least+l.least/50 // now and then one that is a little longer
		if length > l.length && !astray {
			continue
		}
		if length < l.length {
			l.idle = 0
		}
		l.current, next, l.length = next, l.current, length
		if length < l.least {
			l.best, l.least = slices.Clone(l.current), length
		}
	}
}

// shorten pushes a plan to its end and back until it gets no shorter.
func (l *lists) shorten(starts []int, length int) int {
	for {
		late := l.byEnd(starts)
		l.backward(late, starts, length)
		shorter := l.forward(l.byStart(starts), starts)
		if shorter >= length {
			return min(shorter, length)
		}
		length = shorter
	}
}

// moved is the list of the current plan with some activities elsewhere, as far as what they follow and what follows
// them allows.
func (l *lists) moved() []int {
	order := l.byStart(l.current)
	at := make([]int, len(order))
	for range 1 + l.random.IntN(4) {
		for i, a := range order {
			at[a] = i
		}
		a := order[l.random.IntN(len(order))]
		low, high := 0, len(order)-1
		for _, g := range l.before[a] {
			low = max(low, at[g.to]+1)
		}
		for _, g := range l.after[a] {
			high = min(high, at[g.to]-1)
		}
		if low >= high {
			continue
		}
		order = slices.Delete(order, at[a], at[a]+1)
		order = slices.Insert(order, low+l.random.IntN(high-low+1), a)
	}
	return order
}
