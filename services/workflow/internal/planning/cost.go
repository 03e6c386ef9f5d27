package planning

import (
	"maps"
	"slices"

	"tackfree/pkg/planner"
)

// Cost is what a plan costs, the first first. Hours are weighed by what their piece is worth beside the usual one.
type Cost struct {
	Late         float64 // hours after promises
	LatePromises int     // that are not kept, or of which stages have no place
	Waiting      float64 // hours from the beginning of the work to its end
	Moved        int     // jobs of the next two days on which somebody works that are not as was published
	Unplaced     int     // stages without a place
}

const perHour = 60.0

// soon is until when people count on what was published, in minutes after now: the end of the second day from today on
// on which anybody works, so that on a Friday Monday counts.
func (m *maker) soon() int {
	const day = 24 * 60
	days, midnight := map[int]planner.Minute{}, m.base.Hour()*60+m.base.Minute()
	for _, w := range m.p.Workers {
		for _, c := range w.Calendar {
			if c.End > m.p.Now {
				n := (c.Start + midnight) / day
				days[n] = max(days[n], c.End)
			}
		}
	}
	all := slices.Sorted(maps.Keys(days))
	if len(all) < 2 {
		return 2 * day
	}
	return max(2*day, days[all[1]])
}

func (m *maker) cost(plan *planner.Plan) Cost {
	c := Cost{Late: plan.Objective.Tardiness / perHour, Waiting: plan.Objective.Flow / perHour}
	ends, open := make([]planner.Minute, len(m.p.Pieces)), map[int]bool{}
	for op, o := range m.p.Operations {
		ends[o.Piece] = max(ends[o.Piece], plan.Slots[op].End)
	}
	for _, u := range plan.Left {
		if u.Operation < len(m.jobs) {
			c.Unplaced += len(m.jobs[u.Operation].stages)
			for _, piece := range m.jobs[u.Operation].pieces {
				open[piece] = true
			}
		}
	}
	for i, p := range m.p.Pieces {
		if ends[i] > p.Due || (open[i] && p.Due != planner.NoDue) {
			c.LatePromises++
		}
	}
	if known := m.known(); known != nil {
		c.Moved, _ = planner.Moved(&m.p, known, plan, m.soon())
	}
	return c
}
