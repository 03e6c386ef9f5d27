package instance

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/jobshop"
	"tackfree/pkg/planner/literature"
)

// machines is a job shop, whose machines may be chosen or not.
type machines struct {
	*jobshop.Shop
	objective jobshop.Objective
}

// Due gives the first so many jobs of a job shop (0: all) promises, after Singer and Pinedo, IIE Transactions 30 (1998)
// 109-118: each is due after its work times a factor; of the jobs a fifth has the weight 4, three fifths 2, the rest 1.
// The objective is the weighted tardiness then.
func Due(p Problem, jobs int, factor float64) (Problem, error) {
	m, is := p.(machines)
	if !is || jobs > len(m.Jobs) {
		return nil, fault.New(fault.Invalid, "NO_JOBS_TO_PROMISE", "Only a job shop of %d jobs or more can be given such promises.", jobs)
	}
	if jobs == 0 {
		jobs = len(m.Jobs)
	}
	out := &jobshop.Shop{Machines: m.Machines, Jobs: slices.Clone(m.Jobs[:jobs])}
	for j := range out.Jobs {
		out.Jobs[j].Weight = 1
		switch {
		case 5*j < jobs:
			out.Jobs[j].Weight = 4
		case 5*j < 4*jobs:
			out.Jobs[j].Weight = 2
		}
		work := 0
		for _, o := range out.Jobs[j].Operations {
			work += o.Modes[0].Duration
		}
		out.Jobs[j].Due = int(math.Floor(factor*float64(work) + 1e-9))
	}
	return machines{out, jobshop.WeightedTardiness}, nil
}

// Solve implements Problem.
func (m machines) Solve(ctx context.Context, o Options) (*Answer, error) {
	began := time.Now()
	ctx, cancel := context.WithTimeout(ctx, o.Budget)
	defer cancel()
	r, err := jobshop.Solve(ctx, m.Shop, jobshop.Options{Seed: o.Seed, Objective: m.objective, Target: o.Target}, func(i jobshop.Improvement) {
		o.tell(i.Objective, i.Bound, began)
	})
	if err != nil {
		return nil, err
	}
	makespan, _, err := jobshop.Validate(m.Shop, r.Schedule)
	if err != nil {
		return nil, fmt.Errorf("the schedule found breaks a rule: %w", err)
	}
	a := &Answer{Makespan: makespan, LowerBound: r.Bound, Objective: r.Objective, Seconds: time.Since(began).Seconds()}
	a.Operations, a.Rows = operationsOf(m.Shop, r.Schedule)
	return a, a.asFile()
}

func (o Options) tell(objective, bound int64, began time.Time) {
	if o.Improved != nil {
		o.Improved(Progress{objective, bound, time.Since(began)})
	}
}

func operationsOf(s *jobshop.Shop, schedule jobshop.Schedule) (all []Operation, rows []Row) {
	for m := range s.Machines {
		rows = append(rows, Row{Title: fmt.Sprintf("machine %d", m)})
	}
	for job, places := range schedule {
		for index, p := range places {
			machine := p.Machine
			all = append(all, Operation{job, index, &machine, p.Start, p.End})
			rows[machine].Bars = append(rows[machine].Bars, Bar{p.Start, p.End, job, fmt.Sprintf("job %d, operation %d", job, index)})
		}
	}
	return all, rows
}

// Taillard is a job shop made by his generator; see literature.Taillard.
func Taillard(jobs, machineCount int, timeSeed, machineSeed int32) (Problem, error) {
	s, err := literature.Taillard(jobs, machineCount, timeSeed, machineSeed)
	return machines{Shop: s}, err
}
