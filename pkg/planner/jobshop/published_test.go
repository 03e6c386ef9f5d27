package jobshop_test

import (
	"strings"
	"testing"

	"tackfree/pkg/planner/jobshop"
	"tackfree/pkg/planner/literature"
)

// Fisher and Thompson, Probabilistic learning combinations of local job-shop scheduling rules, in Industrial
// Scheduling, 1963, 225-251: 6 jobs on 6 machines. The least makespan is 55.
const ft06 = `6 6
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
`

// From the same paper: 10 jobs on 10 machines. The least makespan is 930 (Carlier and Pinson, Management Science 35
// (1989) 164-176).
const ft10 = `10 10
0 29 1 78 2 9 3 36 4 49 5 11 6 62 7 56 8 44 9 21
0 43 2 90 4 75 9 11 3 69 1 28 6 46 5 46 7 72 8 30
1 91 0 85 3 39 2 74 8 90 5 10 7 12 6 89 9 45 4 33
1 81 2 95 0 71 4 99 6 9 8 52 7 85 3 98 9 22 5 43
2 14 0 6 1 22 5 61 3 26 4 69 8 21 7 49 9 72 6 53
2 84 1 2 5 52 3 95 8 48 9 72 0 47 6 65 4 6 7 25
1 46 0 37 3 61 2 13 6 32 5 21 9 32 8 89 7 30 4 55
2 31 0 86 1 46 5 74 4 32 6 88 8 19 9 48 7 36 3 79
0 76 1 69 3 76 5 51 2 85 9 11 6 40 7 89 4 26 8 74
1 85 0 13 2 61 6 7 8 64 9 76 5 47 3 52 4 90 7 45
`

func read(t *testing.T, text string) *jobshop.Shop {
	t.Helper()
	s, err := literature.JobShop(strings.NewReader(text))
	if err != nil {
		t.Fatalf("JobShop: %v", err)
	}
	return s
}

// solve gives a result whose schedule the rules accept.
func solve(t testing.TB, s *jobshop.Shop, o jobshop.Options) *jobshop.Result {
	t.Helper()
	r, err := jobshop.Solve(nil, s, o, nil)
	if err != nil {
		t.Fatalf("Solve: %v", err)
	}
	check(t, s, o, r)
	return r
}

// fatal is what a test of its own and one of many random ones have in common.
type fatal interface {
	Helper()
	Fatalf(format string, args ...any)
}

func check(t fatal, s *jobshop.Shop, o jobshop.Options, r *jobshop.Result) {
	t.Helper()
	makespan, tardiness, err := jobshop.Validate(s, r.Schedule)
	if err != nil {
		t.Fatalf("Validate: %v", err)
	}
	want := int64(makespan)
	if o.Objective == jobshop.WeightedTardiness {
		want = tardiness
	}
	if r.Makespan != makespan || r.Tardiness != tardiness || r.Objective != want {
		t.Fatalf("the result says makespan %d, tardiness %d, objective %d; the schedule comes to %d and %d", r.Makespan, r.Tardiness, r.Objective, makespan, tardiness)
	}
	if r.Bound > r.Objective || r.Proven != (r.Bound == r.Objective) {
		t.Fatalf("Bound %d, Proven %v with an objective of %d", r.Bound, r.Proven, r.Objective)
	}
}

func TestSolve_ProvesThatNothingIsShorterThan55(t *testing.T) {
	r := solve(t, read(t, ft06), jobshop.Options{Seed: 1, Cores: 2, Iterations: 1_000_000})
	if r.Objective != 55 || r.Bound != 55 || !r.Proven {
		t.Errorf("Solve(ft06) = %d, bound %d, proven %v, want 55, 55, true", r.Objective, r.Bound, r.Proven)
	}
}

func TestSolve_Reaches930(t *testing.T) {
	r := solve(t, read(t, ft10), jobshop.Options{Seed: 1, Cores: 2, Iterations: 1_000_000, Target: 930})
	if r.Objective != 930 {
		t.Errorf("Solve(ft10) = %d, want 930", r.Objective)
	}
	// 808 is what Jackson's preemptive schedule of one machine comes to (Carlier and Pinson 1989).
	if r.Bound < 808 || r.Bound > 930 {
		t.Errorf("the bound of ft10 is %d, want 808 to 930", r.Bound)
	}
}

// Singer and Pinedo, IIE Transactions 30 (1998) 109-118: weights 4, 2 and 1 for a fifth, three fifths and a fifth of
// the jobs, due after 1.3 times their work. Of ft10 the optimum is 1363 (value from memory).
func TestSolve_ReachesTheWeightedTardinessOfSingerAndPinedo(t *testing.T) {
	s := read(t, ft10)
	for j := range s.Jobs {
		job := &s.Jobs[j]
		job.Weight = []int{4, 4, 2, 2, 2, 2, 2, 2, 1, 1}[j]
		for _, o := range job.Operations {
			job.Due += o.Modes[0].Duration
		}
		job.Due = job.Due * 13 / 10
	}
	r := solve(t, s, jobshop.Options{Seed: 1, Cores: 2, Iterations: 300_000, Target: 1363, Objective: jobshop.WeightedTardiness})
	if r.Objective != 1363 {
		t.Errorf("Solve(ft10, f = 1.3) = %d, want 1363", r.Objective)
	}
}
