package bench

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/planner"
)

// FloorReplans are plans after one absence: of each worker, at each of some moments.
type FloorReplans struct {
	Absences int `json:"absences"`
	// Of what begins in the two days that follow, in percent: what the absent worker was to do meanwhile, and what is moved.
	OwnMedian   float64 `json:"own_percent_median"`
	OwnWorst    float64 `json:"own_percent_worst"`
	MovedMedian float64 `json:"moved_percent_median"`
	MovedWorst  float64 `json:"moved_percent_worst"`
	Median      float64 `json:"milliseconds_median"`
	Worst       float64 `json:"milliseconds_worst"`
	Missed      int     `json:"windows_missed"`
}

// replanSearch leaves some of 300 ms to what comes before the search and after it.
const (
	replanSearch = 240 * time.Millisecond
	day          = 24 * 60 // minutes
)

// absences are from when, after the first midnight, to the end of that day.
var absences = []planner.Minute{day + 13*60, 2*day + 7*60, 9*day + 7*60}

// replans has each worker in turn be away from a moment to midnight, while what has begun goes on.
func (o PlannerOptions) replans(ctx context.Context, f namedFloor, known *planner.Plan) (*FloorReplans, error) {
	out := &FloorReplans{}
	var own, moved, took []float64
	for _, at := range absences {
		at += (f.Now + day - 1) / day * day
		for worker := range f.Workers {
			p, hit, of := absent(f.Problem, known, worker, at)
			if hit == 0 {
				continue
			}
			gone := o.Clock.start()
			plan, err := planner.Replan(p, known, planner.Options{Seed: o.Seed, Aims: floorAims, Budget: o.Clock.budget(ctx, replanSearch)}, nil)
			if err != nil {
				return nil, err
			}
			took = append(took, 1000*gone().Seconds())
			if err := accepted(p, plan); err != nil {
				return nil, fmt.Errorf("with worker %s away: %w", p.Workers[worker].ID, err)
			}
			n, _ := planner.Moved(p, known, plan, 2*day)
			own, moved = append(own, percent(hit, of)), append(moved, percent(n, of))
			out.Missed += len(plan.Missed)
		}
	}
	if out.Absences = len(took); out.Absences == 0 {
		return nil, ctx.Err()
	}
	out.OwnMedian, out.MovedMedian, out.Median = median(own), median(moved), median(took)
	out.OwnWorst, out.MovedWorst, out.Worst = slices.Max(own), slices.Max(moved), slices.Max(took)
	return out, ctx.Err()
}

func percent(n, of int) float64 { return 100 * float64(n) / float64(of) }

// absent gives the floor at a moment from which somebody is away until midnight: what has begun is fixed. Of what is planned
// to begin within two days, so much was to be done by them meanwhile.
func absent(was *planner.Problem, known *planner.Plan, worker int, at planner.Minute) (p *planner.Problem, hit, of int) {
	now, q := at, *was
	midnight := at/day*day + day
	q.Now, q.Fixed, q.Workers = now, nil, slices.Clone(was.Workers)
	q.Workers[worker].Calendar = without(was.Workers[worker].Calendar, now, midnight)
	for op, s := range known.Slots {
		switch {
		case s.Start < now:
			q.Fixed = append(q.Fixed, planner.Fixed{Operation: op, Slot: s})
		case s.Start < now+2*day:
			of++
			if s.Worker == worker && s.Start < midnight {
				hit++
			}
		}
	}
	return &q, hit, of
}

// without takes a stretch out of a calendar.
func without(c planner.Calendar, from, until planner.Minute) planner.Calendar {
	out := planner.Calendar{}
	for _, w := range c {
		for _, part := range []planner.Window{{Start: w.Start, End: min(w.End, from)}, {Start: max(w.Start, until), End: w.End}} {
			if part.Start < part.End {
				out = append(out, part)
			}
		}
	}
	return out
}
