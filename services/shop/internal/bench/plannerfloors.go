package bench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/planner"
	"tackfree/pkg/planner/floorfile"
)

// FloorRun is what planning a floor comes to.
type FloorRun struct {
	Floor      string  `json:"floor"`
	Pieces     int     `json:"pieces"`
	Operations int     `json:"operations"`
	First      float64 `json:"first_plan_milliseconds"` // of a plan at all, the median of five
	Bound      float64 `json:"bound"`                   // no plan is less late
	// Short and Long are the median weighted tardiness (weight × minutes) of seeds 1 to 5.
	Short  float64       `json:"tardiness_2s"`
	Long   float64       `json:"tardiness_60s,omitempty"`
	Heap   float64       `json:"heap_megabytes"` // in use at most, with all else of the process
	Replan *FloorReplans `json:"replan,omitempty"`
}

const (
	floorSet    = "shop" // the set of floors, and the folder of their files
	shortSearch = 2 * time.Second
	longSearch  = time.Minute
	floorSeeds  = 5
)

// floorAims are those of the format shop-instance/1.
var floorAims = []planner.Aim{planner.Tardiness, planner.Makespan, planner.Flow}

// RunPlannerFloors plans floors: those of DIR/shop, or made up ones. Each plan is looked at by the planner's rules.
func RunPlannerFloors(ctx context.Context, o PlannerOptions) (runs []FloorRun, err error) {
	if !strings.HasPrefix(floorSet, o.Only) {
		return nil, nil
	}
	floors, err := o.floors()
	if err != nil {
		return nil, err
	}
	for _, f := range floors {
		r, err := o.measureFloor(ctx, f)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.name, err)
		}
		runs = append(runs, r)
	}
	return runs, nil
}

// namedFloor is a floor to measure.
type namedFloor struct {
	name string
	*planner.Problem
}

func (o PlannerOptions) floors() (all []namedFloor, err error) {
	if o.Dir == "" {
		for _, pieces := range []int{20, 50, 200} {
			all = append(all, namedFloor{fmt.Sprintf("made_%d", pieces), madeFloor(pieces, uint64(pieces))})
		}
		return all, nil
	}
	paths, err := filepath.Glob(filepath.Join(o.Dir, floorSet, floorSet+"_*.json"))
	if err != nil {
		return nil, err
	}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		f, err := floorfile.Read(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		all = append(all, namedFloor{f.Name, &f.Problem})
	}
	slices.SortStableFunc(all, func(a, b namedFloor) int { return len(a.Pieces) - len(b.Pieces) })
	return all, nil
}

func (o PlannerOptions) measureFloor(ctx context.Context, f namedFloor) (r FloorRun, err error) {
	r = FloorRun{Floor: f.name, Pieces: len(f.Pieces), Operations: len(f.Operations)}
	if r.First, err = o.firstPlan(f); err != nil {
		return r, err
	}
	bound, err := planner.Bound(f.Problem)
	if err != nil {
		return r, err
	}
	r.Bound = bound.Tardiness
	known, short, err := o.searches(ctx, f, shortSearch, &r)
	if err != nil {
		return r, err
	}
	r.Short = short
	if o.Long {
		if _, r.Long, err = o.searches(ctx, f, longSearch, &r); err != nil {
			return r, err
		}
	}
	r.Replan, err = o.replans(ctx, f, known)
	return r, err
}

// firstPlan is how long it takes until there is a plan, in milliseconds.
func (o PlannerOptions) firstPlan(f namedFloor) (float64, error) {
	var took []float64
	for range 5 {
		gone := o.Clock.start()
		plan, err := planner.Dispatch(f.Problem)
		if err != nil {
			return 0, err
		}
		took = append(took, 1000*gone().Seconds())
		if err := accepted(f.Problem, plan); err != nil {
			return 0, err
		}
	}
	return median(took), nil
}

// searches gives the plan of the first seed, and the median of all.
func (o PlannerOptions) searches(ctx context.Context, f namedFloor, length time.Duration, r *FloorRun) (first *planner.Plan, middle float64, err error) {
	var late []float64
	for seed := range uint64(floorSeeds) {
		plan, err := planner.Improve(f.Problem, nil, planner.Options{Seed: seed + 1, Aims: floorAims, Budget: o.Clock.budget(ctx, length)}, func(planner.Improvement) {
			r.Heap = max(r.Heap, heapInUse())
		})
		if err != nil {
			return nil, 0, err
		}
		if err := accepted(f.Problem, plan); err != nil {
			return nil, 0, err
		}
		if first == nil {
			first = plan
		}
		late = append(late, plan.Objective.Tardiness)
		o.Say("%-18s %-10s seed %d, %s: %.0f", floorSet, f.name, seed+1, length, plan.Objective.Tardiness)
	}
	return first, median(late), ctx.Err()
}

// accepted refuses a plan that breaks a rule, or leaves something out.
func accepted(p *planner.Problem, plan *planner.Plan) error {
	if len(plan.Left) > 0 {
		return fmt.Errorf("%d operations fit nowhere", len(plan.Left))
	}
	return planner.Validate(p, plan)
}

// heapInUse is in megabytes.
func heapInUse() float64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapInuse) / 1e6
}
