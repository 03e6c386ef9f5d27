package planner

import "sort"

// taken is how much of something is taken when: steps in order, each from its minute to that of the
// next; before the first nothing is. A pair of hands is a station that holds one.
type taken struct {
	capacity int
	steps    []step
}

type step struct {
	at   Minute
	used int
}

// last gives the index of the step that holds at t; -1: none does yet.
func (k *taken) last(t Minute) int {
	return sort.Search(len(k.steps), func(i int) bool { return k.steps[i].at > t }) - 1
}

// blocked gives when the last stretch of [w.Start, w.End) with too little room ends; ok: there is none.
func (k *taken) blocked(w Window, demand int) (until Minute, ok bool) {
	if w.Start == w.End {
		return 0, true
	}
	for i := sort.Search(len(k.steps), func(i int) bool { return k.steps[i].at >= w.End }) - 1; i >= 0; i-- {
		if k.steps[i].used+demand > k.capacity {
			return k.end(i), false
		}
		if k.steps[i].at <= w.Start {
			break
		}
	}
	return 0, true
}

func (k *taken) end(i int) Minute {
	if i+1 < len(k.steps) {
		return k.steps[i+1].at
	}
	return NoDue // the last step is of nothing
}

// take takes units from start to end, or with a negative demand gives them back.
func (k *taken) take(w Window, demand int) {
	if w.Start == w.End {
		return
	}
	first, end := k.split(w.Start), 0
	for end = first; end < len(k.steps) && k.steps[end].at < w.End; end++ {
	}
	if end == len(k.steps) || k.steps[end].at != w.End {
		k.insert(end, step{w.End, k.steps[end-1].used})
	}
	for i := first; i < end; i++ {
		k.steps[i].used += demand
	}
	k.merge(end)
	k.merge(first)
}

// split makes sure that a step begins at t, and gives its index.
func (k *taken) split(t Minute) int {
	i := k.last(t)
	if i >= 0 && k.steps[i].at == t {
		return i
	}
	used := 0
	if i >= 0 {
		used = k.steps[i].used
	}
	k.insert(i+1, step{t, used})
	return i + 1
}

func (k *taken) insert(i int, s step) {
	k.steps = append(k.steps, step{})
	copy(k.steps[i+1:], k.steps[i:])
	k.steps[i] = s
}

// merge drops a step that changes nothing.
func (k *taken) merge(i int) {
	before := 0
	if i > 0 {
		before = k.steps[i-1].used
	}
	if i < len(k.steps) && k.steps[i].used == before {
		k.steps = append(k.steps[:i], k.steps[i+1:]...)
	}
}
