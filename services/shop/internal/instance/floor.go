package instance

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/planner"
	"tackfree/pkg/planner/floorfile"
)

// floor is people, stations and pieces.
type floor struct{ *floorfile.File }

// aims are those of the format, in its order.
var aims = []planner.Aim{planner.Tardiness, planner.Makespan, planner.Flow}

// Solve implements Problem.
func (f floor) Solve(ctx context.Context, o Options) (*Answer, error) {
	began := time.Now()
	bound, err := planner.Bound(&f.Problem)
	if err != nil {
		return nil, err
	}
	budget := func() float64 {
		if ctx.Err() != nil {
			return 1
		}
		return time.Since(began).Seconds() / o.Budget.Seconds()
	}
	plan, err := planner.Improve(&f.Problem, nil, planner.Options{Seed: o.Seed, Aims: aims, Budget: budget}, func(i planner.Improvement) {
		if len(i.Plan.Left)+len(i.Plan.Missed) == 0 {
			o.tell(int64(i.Plan.Objective.Tardiness), int64(bound.Tardiness), began)
		}
	})
	if err != nil {
		return nil, err
	}
	if len(plan.Left)+len(plan.Missed) > 0 {
		return nil, f.inTheWay(plan)
	}
	if err := planner.Validate(&f.Problem, plan); err != nil {
		return nil, fmt.Errorf("the plan found breaks a rule: %w", err)
	}
	cost := f.Cost(plan)
	a := &Answer{Makespan: cost.Makespan, LowerBound: int64(bound.Tardiness), Objective: int64(cost.Tardiness), Seconds: time.Since(began).Seconds()}
	a.Operations, a.Rows = f.placed(plan)
	a.Timetable, a.says = f.timetable(plan), f.at
	a.Schedule, err = f.Write(plan)
	return a, err
}

func (f floor) placed(plan *planner.Plan) (all []Placed, rows []Row) {
	p := &f.Problem
	for _, w := range p.Workers {
		rows = append(rows, Row{Title: w.ID})
	}
	for _, s := range p.Stations {
		rows = append(rows, Row{Title: s.ID})
	}
	for op, s := range plan.Slots {
		it := Placed{Operation: p.Operations[op].ID, Start: s.Start, End: s.End}
		bar := Bar{s.Start, s.End, p.Operations[op].Piece, f.ofPiece(op)}
		if s.Worker != planner.NoWorker {
			it.Worker = &p.Workers[s.Worker].ID
			rows[s.Worker].Bars = append(rows[s.Worker].Bars, bar)
		}
		if s.Station != planner.NoStation {
			it.Station = &p.Stations[s.Station].ID
			rows[len(p.Workers)+s.Station].Bars = append(rows[len(p.Workers)+s.Station].Bars, bar)
		}
		all = append(all, it)
	}
	return all, slices.DeleteFunc(rows, func(r Row) bool { return len(r.Bars) == 0 })
}
