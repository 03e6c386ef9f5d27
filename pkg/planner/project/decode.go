package project

import "slices"

// forward starts activities in the order of a list as early as they fit; it gives the makespan.
func (l *lists) forward(order, starts []int) (length int) {
	l.empty()
	for _, a := range order {
		t := 0
		for _, g := range l.before[a] {
			t = max(t, starts[g.to]+int(g.least))
		}
		t = l.fit(a, t)
		starts[a] = t
		l.take(a, t)
		length = max(length, t+l.Activities[a].Duration)
	}
	return length
}

// backward starts activities in the order of a list as late as they fit before an end. Where one would start before
// the beginning it starts as early as it did.
func (l *lists) backward(order, starts []int, end int) {
	l.empty()
	for _, a := range order {
		t := end - l.Activities[a].Duration
		for _, g := range l.after[a] {
			t = min(t, starts[g.to]-int(g.least))
		}
		starts[a] = l.fitLate(a, t)
		l.take(a, starts[a])
	}
}

func (l *lists) empty() {
	for _, t := range l.taken {
		clear(t)
	}
}

func (l *lists) take(a, t int) {
	for r, d := range l.Activities[a].Demands {
		if d == 0 {
			continue
		}
		used := l.taken[r][t : t+l.Activities[a].Duration]
		for i := range used {
			used[i] += d
		}
	}
}

// fit is the first time from t on at which there is room for an activity.
func (l *lists) fit(a, t int) int {
	for {
		full := l.full(a, t)
		if full < 0 {
			return t
		}
		t = full + 1
	}
}

// fitLate is the last time until t at which there is room.
func (l *lists) fitLate(a, t int) int {
	for t > 0 {
		full := l.firstFull(a, t)
		if full < 0 {
			return t
		}
		t = full - l.Activities[a].Duration
	}
	return max(t, 0)
}

// full is the last moment of an activity's at which there is no room; -1: none.
func (l *lists) full(a, t int) int {
	last := -1
	for r, d := range l.Activities[a].Demands {
		for m := t + l.Activities[a].Duration - 1; d > 0 && m >= t && m > last; m-- {
			if l.taken[r][m]+d > l.Capacities[r] {
				last = m
				break
			}
		}
	}
	return last
}

// firstFull is the first such moment; -1: none.
func (l *lists) firstFull(a, t int) int {
	first := -1
	for r, d := range l.Activities[a].Demands {
		for m := t; d > 0 && m < t+l.Activities[a].Duration && (first < 0 || m < first); m++ {
			if l.taken[r][m]+d > l.Capacities[r] {
				first = m
				break
			}
		}
	}
	return first
}

// byStart lists activities by when they start. Of those that start together, those that take no time come where they
// do in the order of what follows what.
func (l *lists) byStart(starts []int) []int {
	order := slices.Clone(l.order)
	slices.SortStableFunc(order, func(a, b int) int { return starts[a] - starts[b] })
	return order
}

// byEnd lists them by when they end, the last first.
func (l *lists) byEnd(starts []int) []int {
	order := slices.Clone(l.order)
	slices.Reverse(order)
	slices.SortStableFunc(order, func(a, b int) int {
		return starts[b] + l.Activities[b].Duration - starts[a] - l.Activities[a].Duration
	})
	return order
}
