package jobshop_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/planner/jobshop"
)

// brute tries every order of the jobs' operations and every mode: what any schedule as early as can be comes to.
type brute struct {
	s        *jobshop.Shop
	next     []int
	ready    []int
	free     []int
	makespan int
	cost     int64
}

func optimum(s *jobshop.Shop) (makespan int, tardiness int64) {
	b := &brute{s: s, next: make([]int, len(s.Jobs)), ready: make([]int, len(s.Jobs)), free: make([]int, s.Machines), makespan: math.MaxInt, cost: math.MaxInt64}
	for j := range s.Jobs {
		b.ready[j] = s.Jobs[j].Release
	}
	b.try()
	return b.makespan, b.cost
}

func (b *brute) try() {
	isOver := true
	for j := range b.s.Jobs {
		if b.next[j] == len(b.s.Jobs[j].Operations) {
			continue
		}
		isOver = false
		for _, m := range b.s.Jobs[j].Operations[b.next[j]].Modes {
			ready, free := b.ready[j], b.free[m.Machine]
			b.ready[j] = max(ready, free) + m.Duration
			b.free[m.Machine] = b.ready[j]
			b.next[j]++
			b.try()
			b.next[j]--
			b.ready[j], b.free[m.Machine] = ready, free
		}
	}
	if isOver {
		b.count()
	}
}

func (b *brute) count() {
	makespan, cost := 0, int64(0)
	for j, end := range b.ready {
		makespan = max(makespan, end)
		cost += int64(b.s.Jobs[j].Weight) * int64(max(0, end-b.s.Jobs[j].Due))
	}
	b.makespan, b.cost = min(b.makespan, makespan), min(b.cost, cost)
}

// anyShop draws a shop of some kind: any jobs, operations, modes, durations (none at all included) and dates.
func anyShop(t *rapid.T, mostJobs, mostOperations, mostModes int) *jobshop.Shop {
	s := &jobshop.Shop{Machines: rapid.IntRange(1, 4).Draw(t, "machines")}
	for range rapid.IntRange(1, mostJobs).Draw(t, "jobs") {
		job := jobshop.Job{Release: rapid.IntRange(0, 8).Draw(t, "release"), Due: rapid.IntRange(0, 20).Draw(t, "due"), Weight: rapid.IntRange(0, 4).Draw(t, "weight")}
		for range rapid.IntRange(1, mostOperations).Draw(t, "operations") {
			var o jobshop.Operation
			for range rapid.IntRange(1, mostModes).Draw(t, "modes") {
				o.Modes = append(o.Modes, jobshop.Mode{Machine: rapid.IntRange(0, s.Machines-1).Draw(t, "machine"), Duration: rapid.IntRange(0, 9).Draw(t, "duration")})
			}
			job.Operations = append(job.Operations, o)
		}
		s.Jobs = append(s.Jobs, job)
	}
	return s
}

func TestSolve_FindsWhatTryingAllOrdersFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyShop(t, 3, 3, rapid.IntRange(1, 2).Draw(t, "flexibility"))
		makespan, tardiness := optimum(s)
		for objective, want := range map[jobshop.Objective]int64{jobshop.Makespan: int64(makespan), jobshop.WeightedTardiness: tardiness} {
			o := jobshop.Options{Seed: 1, Cores: 1, Iterations: 8000, Objective: objective}
			r, err := jobshop.Solve(nil, s, o, nil)
			if err != nil {
				t.Fatalf("Solve: %v", err)
			}
			check(t, s, o, r)
			if r.Objective != want || r.Bound > want {
				t.Fatalf("objective %d: Solve = %d, bound %d; the optimum is %d", objective, r.Objective, r.Bound, want)
			}
		}
	})
}

func TestSolve_IsValidForAnyShopAndNeverGetsWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyShop(t, 8, 6, 3)
		o := jobshop.Options{Seed: rapid.Uint64().Draw(t, "seed"), Cores: 2, Iterations: 1500, Objective: jobshop.Objective(rapid.IntRange(0, 1).Draw(t, "objective"))}
		var told []jobshop.Improvement
		r, err := jobshop.Solve(nil, s, o, func(i jobshop.Improvement) { told = append(told, i) })
		if err != nil {
			t.Fatalf("Solve: %v", err)
		}
		check(t, s, o, r)
		for i := range told {
			if i > 0 && told[i].Objective >= told[i-1].Objective {
				t.Fatalf("improvement %d is from %d to %d", i, told[i-1].Objective, told[i].Objective)
			}
		}
		if len(told) == 0 || told[len(told)-1].Objective != r.Objective {
			t.Fatalf("the last of %d improvements is not the result, %d", len(told), r.Objective)
		}
	})
}
