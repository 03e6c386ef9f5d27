package project

import "fmt"

// Validate looks at starts by the rules alone and gives the makespan; an error names the first rule they break.
func (p *Project) Validate(starts []int) (makespan int, err error) {
	if len(starts) != len(p.Activities) {
		return 0, fmt.Errorf("%d starts of %d activities", len(starts), len(p.Activities))
	}
	for a, s := range starts {
		if s < 0 {
			return 0, fmt.Errorf("activity %d starts at %d", a, s)
		}
		makespan = max(makespan, s+p.Activities[a].Duration)
	}
	for _, l := range p.Lags {
		if starts[l.To] < starts[l.From]+l.Min {
			return 0, fmt.Errorf("activity %d starts at %d, less than %d after %d at %d", l.To, starts[l.To], l.Min, l.From, starts[l.From])
		}
	}
	for r, capacity := range p.Capacities {
		for t := range makespan {
			if used := p.used(starts, r, t); used > capacity {
				return 0, fmt.Errorf("at %d %d of resource %d are used, which has %d", t, used, r, capacity)
			}
		}
	}
	return makespan, nil
}

func (p *Project) used(starts []int, r, t int) (sum int) {
	for a, it := range p.Activities {
		if starts[a] <= t && t < starts[a]+it.Duration {
			sum += it.Demands[r]
		}
	}
	return sum
}
