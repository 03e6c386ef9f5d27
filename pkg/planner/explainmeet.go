package planner

import (
	"cmp"
	"math"
	"slices"
)

// after gives when what waits by a lag may begin.
func after(from []starts, l Lag) Calendar {
	if l.Max == Forever {
		first := math.MaxInt
		for _, s := range from {
			first = min(first, s.first+s.length)
		}
		return Calendar{{first + l.Min, math.MaxInt}}
	}
	c := make(Calendar, 0, len(from))
	for _, s := range from {
		c = append(c, Window{s.first + s.length + l.Min, s.last + s.length + l.Max + 1})
	}
	return c.joined()
}

// before gives when what something waits for by a lag may end.
func before(to []starts, l Lag) Calendar {
	if l.Max == Forever {
		last := math.MinInt
		for _, s := range to {
			last = max(last, s.last)
		}
		return Calendar{{math.MinInt / 2, last - l.Min + 1}}
	}
	c := make(Calendar, 0, len(to))
	for _, s := range to {
		c = append(c, Window{s.first - l.Max, s.last - l.Min + 1})
	}
	return c.joined()
}

// joined sorts windows and makes one of those that touch.
func (c Calendar) joined() (out Calendar) {
	slices.SortFunc(c, func(a, b Window) int { return cmp.Compare(a.Start, b.Start) })
	for _, w := range c {
		if last := len(out) - 1; last >= 0 && w.Start <= out[last].End {
			out[last].End = max(out[last].End, w.End)
		} else {
			out = append(out, w)
		}
	}
	return out
}

// within gives the starts that lie in some windows, or whose ends do.
func within(all []starts, c Calendar, ends bool) []starts {
	out := make([]starts, 0, len(all))
	for _, s := range all {
		shift := 0
		if ends {
			shift = s.length
		}
		for i := c.at(s.first + shift); i < len(c) && c[i].Start <= s.last+shift; i++ {
			part := s
			part.first, part.last = max(s.first, c[i].Start-shift), min(s.last, c[i].End-1-shift)
			out = append(out, part)
		}
	}
	if slices.Equal(out, all) {
		return all
	}
	return out
}

// sequel is a way out where some meet: an operation begins so long after another, or, where that is nobody, at a
// minute at the soonest.
type sequel struct{ op, after, wait int }

const nobody = -1

// meeting finds operations that are at the same hands or station at once, and gives the ways out, of which one has
// to be taken as no start is below the given ones; none: none meet.
func (t *trial) meeting(all [][]starts, at []Minute) []sequel {
	t.spend(len(at) * (len(at) + len(t.Fixed)))
	for i := range at {
		for j := range i {
			if t.overlap(all, at, i, j, 0, 0) && t.shareHands(all, i, j) {
				return []sequel{{i, j, 0}, {j, i, 0}}
			}
			if after, back := t.cleaned(all, i, j); after+back > 0 && t.overlap(all, at, i, j, after, back) {
				return []sequel{{j, i, after}, {i, j, back}}
			}
		}
		if out := t.crowd(all, at, i); len(out) > 0 {
			return out
		}
	}
	return nil
}

// overlap tells whether two meet, if so long is to be after the one, and so long after the other.
func (t *trial) overlap(all [][]starts, at []Minute, i, j, after, back int) bool {
	long, other := all[i][0].length, all[j][0].length
	return at[i] < at[j]+other+back && at[j] < at[i]+long+after && long > 0 && other > 0
}

// cleaned gives how long the station of two is cleaned after the first, and after the second.
func (t *trial) cleaned(all [][]starts, i, j int) (after, back int) {
	if all[i][0].station == NoStation || all[i][0].station != all[j][0].station {
		return 0, 0
	}
	return t.cleaning(all[i][0].station, t.Operations[t.ops[i]].Colour, t.Operations[t.ops[j]].Colour)
}

func (t *trial) shareHands(all [][]starts, i, j int) bool {
	hands := append([]int{all[i][0].worker}, t.Operations[t.ops[i]].With...)
	others := append([]int{all[j][0].worker}, t.Operations[t.ops[j]].With...)
	return slices.ContainsFunc(hands, func(w int) bool { return w != NoWorker && slices.Contains(others, w) })
}

// crowd gives the ways out where a station is overfull when an operation begins. Stretches of which each two share a
// minute share one all together (Helly), so that some two of those there have to be one after the other.
func (t *trial) crowd(all [][]starts, at []Minute, i int) (out []sequel) {
	station, now := all[i][0].station, at[i]
	if station == NoStation || all[i][0].length == 0 {
		return nil
	}
	used := 0
	var there []int
	for j, start := range at {
		if all[j][0].station == station && start <= now && start+all[j][0].length > now {
			used += t.Operations[t.ops[j]].Demand
			for _, other := range there {
				out = append(out, sequel{j, other, 0}, sequel{other, j, 0})
			}
			there = append(there, j)
		}
	}
	for _, f := range t.Fixed {
		if f.Station == station && f.Start <= now && f.End > now {
			used += t.Operations[f.Operation].Demand
			for _, j := range there {
				out = append(out, sequel{j, nobody, f.End})
			}
		}
	}
	if used <= t.Stations[station].Capacity {
		return nil
	}
	return out
}

// follow tries a way out.
func (t *trial) follow(all [][]starts, out sequel) bool {
	if out.after == nobody {
		s := all[out.op][0]
		s.first = out.wait
		return s.first <= s.last && t.with(all, out.op, s)
	}
	n := len(t.lags)
	t.lags = append(t.lags, Lag{out.after, out.op, out.wait, Forever})
	defer func() { t.lags = t.lags[:n] }()
	return t.try(slices.Clone(all))
}
