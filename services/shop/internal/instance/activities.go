package instance

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/project"
)

// activities is a project.
type activities struct{ *project.Project }

// Solve implements Problem.
func (p activities) Solve(ctx context.Context, o Options) (*Answer, error) {
	began := time.Now()
	ctx, cancel := context.WithTimeout(ctx, o.Budget)
	defer cancel()
	r, err := project.Solve(ctx, p.Project, project.Options{Seed: o.Seed, Improved: func(r project.Result) {
		if r.Starts != nil {
			o.tell(int64(r.Makespan), int64(r.Bound), began)
		}
	}})
	switch {
	case err != nil:
		return nil, err
	case r.Status == project.Infeasible:
		return nil, noPlan("It is proved that there is no plan: longest lags and capacities cannot be kept together.")
	case r.Starts == nil:
		return nil, fault.New(fault.Exhausted, "NO_PLAN_IN_TIME", "No plan was found in this time, nor that there is none. Allow more with --budget.")
	}
	makespan, err := p.Validate(r.Starts)
	if err != nil {
		return nil, fmt.Errorf("the plan found breaks a rule: %w", err)
	}
	a := &Answer{Makespan: makespan, LowerBound: int64(r.Bound), Objective: int64(makespan), Seconds: time.Since(began).Seconds()}
	a.Operations, a.Rows = p.operations(r.Starts)
	return a, a.asFile()
}

func (p activities) operations(starts []int) (all []Operation, rows []Row) {
	for a, at := range starts {
		end := at + p.Activities[a].Duration
		all = append(all, Operation{Job: a, Start: at, End: end})
		rows = append(rows, Row{fmt.Sprintf("activity %d", a), []Bar{{at, end, a, fmt.Sprintf("activity %d", a)}}})
	}
	return all, rows
}

// asFile makes the answer its own file.
func (a *Answer) asFile() (err error) {
	a.Schedule, err = json.Marshal(a)
	return err
}
