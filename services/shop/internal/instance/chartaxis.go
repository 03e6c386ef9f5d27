package instance

import "slices"

// stretch is a time in which something is done somewhere; of a floor nights between two are drawn short.
type stretch struct{ start, end int }

// quiet is how long nothing is done before it counts as a night, minutes, and short how wide that is, pixels.
const (
	quiet = 120
	short = 16
)

// stretches gives when something is done, of a floor; of the texts of the literature all time is one stretch.
func (a *Answer) stretches() []stretch {
	if a.says == nil {
		return []stretch{{0, max(1, a.Makespan)}}
	}
	var all, out []stretch
	for _, r := range a.Rows {
		for _, b := range r.Bars {
			all = append(all, stretch{b.Start, b.End})
		}
	}
	slices.SortFunc(all, func(a, b stretch) int { return a.start - b.start })
	for _, s := range all {
		if last := len(out) - 1; last >= 0 && s.start < out[last].end+quiet {
			out[last].end = max(out[last].end, s.end)
		} else {
			out = append(out, s)
		}
	}
	return out
}

// x is where a time is.
func (a *Answer) x(t int) float64 {
	sum := 0
	for _, s := range a.busy {
		sum += s.end - s.start
	}
	room := float64(wide-names-margin-short*max(0, len(a.busy)-1)) / float64(max(1, sum))
	x := float64(names)
	for i, s := range a.busy {
		if i > 0 {
			x += short
		}
		if t <= s.end || i == len(a.busy)-1 {
			return x + room*float64(max(0, t-s.start))
		}
		x += room * float64(s.end-s.start)
	}
	return x
}
