package planner

import "slices"

// mostLooks is how much is looked at before it counts as not to be said what is in the way of an operation, counted in
// windows of calendars, starts, lags and what is fixed, each as often as it is looked at.
const mostLooks = 1_500_000

// allowance is how much may still be looked at: below 0 it is spent.
type allowance struct{ left int }

func (a *allowance) spend(n int) { a.left -= n }

func (a *allowance) spent() bool { return a.left < 0 }

// meanwhile counts the operations, and their hands, of which neither waits for the other.
func (e *explainer) meanwhile() {
	n := len(e.ops)
	e.others, e.hands = make([]int, n), make([]int, n)
	index, before := map[int]int{}, make([][]bool, n)
	for i, op := range e.ops {
		index[op], before[i] = i, make([]bool, n)
		for _, l := range e.c.in[op] {
			from, in := index[e.c.Lags[l].From]
			if !in || before[i][from] {
				continue
			}
			before[i][from] = true
			for j := range i {
				before[i][j] = before[i][j] || before[from][j]
			}
		}
	}
	for i := range n {
		for j := range i {
			if !before[i][j] {
				e.others[i], e.hands[i] = e.others[i]+1, e.hands[i]+1+len(e.c.Operations[e.ops[j]].With)
				e.others[j], e.hands[j] = e.others[j]+1, e.hands[j]+1+len(e.c.Operations[e.ops[i]].With)
			}
		}
	}
}

// alike gives of each worker and each station the first that is like it: of the same hours, holding as much, with
// nothing fixed that is still to come and no cleaning. Whatever one of them can do can any other.
//
// Of such that can do one operation at the same minutes, one more than others can take meanwhile are enough: in a plan
// that has another of them, one of these is free, and can take its place at the same time. So leaving out the rest
// leaves out no answer, and sixteen people of one shift are looked at as one or two.
type alike struct{ worker, station []int }

func newTrial(e *explainer, p *Problem) *trial {
	worker, station := make([]bool, len(p.Workers)), make([]bool, len(p.Stations)) // something fixed is to come
	for _, f := range p.Fixed {
		if f.End <= p.Now {
			continue
		}
		for _, w := range append([]int{f.Worker}, p.Operations[f.Operation].With...) {
			if w != NoWorker {
				worker[w] = true
			}
		}
		if f.Station != NoStation {
			station[f.Station] = true
		}
	}
	t := &trial{Problem: p, explainer: e}
	t.worker = t.firsts(len(worker), func(i, j int) bool {
		return !worker[i] && !worker[j] && p.Workers[i].Calendar.is(p.Workers[j].Calendar)
	})
	t.station = t.firsts(len(station), func(i, j int) bool {
		a, b := &p.Stations[i], &p.Stations[j]
		return !station[i] && !station[j] && !p.cleans(i) && !p.cleans(j) && a.Capacity == b.Capacity && a.Calendar.is(b.Calendar)
	})
	return t
}

// firsts gives of each of n the first that is like it.
func (t *trial) firsts(n int, like func(i, j int) bool) (all []int) {
	var found []int
	for i := range n {
		t.spend(1 + len(found))
		k := slices.IndexFunc(found, func(j int) bool { return like(j, i) })
		if k < 0 {
			k, found = len(found), append(found, i)
		}
		all = append(all, found[k])
	}
	return all
}

// modesOf gives the modes of an operation, of those alike as many as can matter.
func (t *trial) modesOf(i int) (all []Mode) {
	for _, m := range t.Operations[t.ops[i]].Modes {
		t.spend(1 + len(all))
		if m.Worker == NoWorker || t.fewAlike(all, m, t.hands[i]) {
			all = append(all, m)
		}
	}
	return all
}

// fewAlike tells whether no more than so many others do as a worker does, who does not do so twice.
func (t *trial) fewAlike(all []Mode, m Mode, most int) bool {
	n := 0
	for _, x := range all {
		if x.Worker == NoWorker || t.worker[x.Worker] != t.worker[m.Worker] || x.Minutes != m.Minutes || (x.Stations == nil) != (m.Stations == nil) || !slices.Equal(x.Stations, m.Stations) {
			continue
		}
		if n++; x.Worker == m.Worker {
			return false
		}
	}
	return n <= most
}

// stationsOf gives the stations at which an operation can be done in a mode, of those alike as many as can matter.
func (t *trial) stationsOf(i int, m Mode) (all []int) {
	o := &t.Operations[t.ops[i]]
	if len(o.Stations) == 0 {
		return []int{NoStation}
	}
	stations := o.Stations
	if m.Stations != nil {
		stations = m.Stations
	}
	for _, s := range stations {
		t.spend(1 + len(all))
		n := 0
		for _, x := range all {
			if t.station[x] == t.station[s] {
				n++
			}
		}
		if n <= t.others[i] && !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	return all
}

// fewer leaves out of starts in order what is there twice, and of those at the same minutes whoever, or whatever station,
// is more than can matter.
func (t *trial) fewer(i int, all []starts) []starts {
	out, same := all[:0], 0 // where those of the same minutes begin
	for _, s := range all {
		if n := len(out); n > 0 && (out[n-1].first != s.first || out[n-1].last != s.last || out[n-1].length != s.length) {
			same = n
		}
		if t.matters(i, out[same:], s) {
			out = append(out, s)
		}
	}
	return out
}

func (t *trial) matters(i int, same []starts, s starts) bool {
	workers, stations := 0, 0
	t.spend(1 + len(same))
	for _, x := range same {
		if x == s {
			return false
		}
		if x.station == s.station && x.worker != NoWorker {
			workers++
		}
		if x.worker == s.worker && x.station != NoStation && !t.cleans(x.station) {
			stations++
		}
	}
	return (s.worker == NoWorker || workers <= t.hands[i]) && (s.station == NoStation || t.cleans(s.station) || stations <= t.others[i])
}
