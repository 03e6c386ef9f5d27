package jobshop_test

import (
	"context"
	"reflect"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/jobshop"
)

func TestSolve_GivesTheSameScheduleForASeed(t *testing.T) {
	for _, objective := range []jobshop.Objective{jobshop.Makespan, jobshop.WeightedTardiness} {
		o := jobshop.Options{Seed: 7, Cores: 2, Iterations: 20_000, Objective: objective}
		a, b := solve(t, read(t, ft10), o), solve(t, read(t, ft10), o)
		if !reflect.DeepEqual(a, b) {
			t.Errorf("objective %d: two runs with one seed come to %d and %d, or to other schedules", objective, a.Objective, b.Objective)
		}
		o.Seed = 8
		if c := solve(t, read(t, ft10), o); reflect.DeepEqual(a.Schedule, c.Schedule) {
			t.Errorf("objective %d: another seed gives the same schedule", objective)
		}
	}
}

func TestSolve_GivesAScheduleHoweverLittleTimeThereIs(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	o := jobshop.Options{Seed: 1, Cores: 2}
	r, err := jobshop.Solve(ctx, read(t, ft10), o, nil)
	if err != nil {
		t.Fatalf("Solve: %v", err)
	}
	check(t, read(t, ft10), o, r)
}

func TestSolve_StopsAtTheTarget(t *testing.T) {
	r := solve(t, read(t, ft10), jobshop.Options{Seed: 1, Cores: 1, Iterations: 1_000_000, Target: 1100})
	if r.Objective > 1100 || r.Iterations > 100_000 {
		t.Errorf("Solve stops at %d after %d moves, want at most 1100 soon", r.Objective, r.Iterations)
	}
}

func TestSolve_RefusesWhatItCannotDo(t *testing.T) {
	one := func(m jobshop.Mode) *jobshop.Shop {
		return &jobshop.Shop{Machines: 2, Jobs: []jobshop.Job{{Operations: []jobshop.Operation{{Modes: []jobshop.Mode{m}}}}}}
	}
	good := one(jobshop.Mode{Machine: 0, Duration: 1})
	limited := jobshop.Options{Iterations: 10}
	with := func(change func(*jobshop.Job)) *jobshop.Shop {
		s := one(jobshop.Mode{Duration: 1})
		change(&s.Jobs[0])
		return s
	}
	for reason, c := range map[string]struct {
		shop *jobshop.Shop
		o    jobshop.Options
	}{
		"MACHINES_OUT_OF_RANGE": {&jobshop.Shop{}, limited},
		"NO_OPERATIONS":         {&jobshop.Shop{Machines: 1, Jobs: []jobshop.Job{{}}}, limited},
		"NO_MODES":              {with(func(j *jobshop.Job) { j.Operations[0].Modes = nil }), limited},
		"UNKNOWN_MACHINE":       {one(jobshop.Mode{Machine: 2, Duration: 1}), limited},
		"DURATION_OUT_OF_RANGE": {one(jobshop.Mode{Machine: 0, Duration: -1}), limited},
		"JOB_OUT_OF_RANGE":      {with(func(j *jobshop.Job) { j.Release = -1 }), limited},
		"WEIGHT_OUT_OF_RANGE":   {with(func(j *jobshop.Job) { j.Weight = -1 }), limited},
		"TIMES_TOO_LONG":        {with(func(j *jobshop.Job) { j.Release = jobshop.Longest }), limited},
		"UNKNOWN_OBJECTIVE":     {good, jobshop.Options{Objective: 2, Iterations: 10}},
		"OPTIONS_OUT_OF_RANGE":  {good, jobshop.Options{Cores: -1, Iterations: 10}},
		"ENDLESS":               {good, jobshop.Options{}},
	} {
		if _, err := jobshop.Solve(context.Background(), c.shop, c.o, nil); !fault.Is(err, reason) {
			t.Errorf("Solve gives %v, want a fault of reason %s", err, reason)
		}
	}
}
