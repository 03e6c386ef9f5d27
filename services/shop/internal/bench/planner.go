package bench

import (
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/shop/internal/instance"
)

// PlannerOptions of the planner's measurement.
type PlannerOptions struct {
	Dir string // of published instances; empty: those that the program has
	// Only sets whose names begin so; empty: all.
	Only   string
	Seed   uint64
	Budget time.Duration // of each instance; 0: that of its set
	Clock  PlannerClock  // by which budgets are
	Long   bool          // floors are planned for a minute too
	Say    func(format string, args ...any)
}

// PlannerRun is one instance, planned once.
type PlannerRun struct {
	Set       string  `json:"set"`
	Instance  string  `json:"instance"`
	Objective int64   `json:"objective"` // -1: no plan
	Bound     int64   `json:"bound"`
	Best      int64   `json:"best_known"` // -1: it is known that there is no plan
	Proven    bool    `json:"proven"`     // that there is no better plan, or none
	Percent   float64 `json:"percent"`    // over the best known
	Seconds   float64 `json:"seconds"`    // until then, or the budget
}

// PlannerSet sums up a set.
type PlannerSet struct {
	Set       string  `json:"set"`
	Instances int     `json:"instances"`
	Reached   int     `json:"reached"` // the best known, or better, or that there is no plan
	Proven    int     `json:"proven"`
	Mean      float64 `json:"mean_percent"`
	Worst     float64 `json:"worst_percent"`
	Seconds   float64 `json:"seconds"` // a run takes, in the mean
}

// published is an instance with the best that is known of it.
type published struct {
	set, name string
	best      int64   // -1: there is no plan
	jobs      int     // of a job shop with promises, how many; 0: all
	factor    float64 // and the factor of these; 0: it has none
	text      string  // that the program has itself
}

// budgets are how long a run of a set takes at most, by how its name begins.
var budgets = []struct {
	set    string
	budget time.Duration
}{{"jsp/ta", 20 * time.Second}, {"jsp", 10 * time.Second}, {"fjsp", 10 * time.Second}, {"twt", 15 * time.Second}, {"rcpsp", 5 * time.Second}}

func (o PlannerOptions) budgetOf(set string) time.Duration {
	if o.Budget > 0 {
		return o.Budget
	}
	for _, b := range budgets {
		if strings.HasPrefix(set, b.set) {
			return b.budget
		}
	}
	return 10 * time.Second
}

// RunPlanner plans published instances and compares what comes out with the best that is known of them.
func RunPlanner(ctx context.Context, o PlannerOptions) (runs []PlannerRun, sets []PlannerSet, err error) {
	all, err := ownKnown, error(nil)
	if o.Dir != "" {
		all, err = readKnown(o.Dir)
	}
	if err != nil {
		return nil, nil, err
	}
	for _, k := range all {
		if !strings.HasPrefix(k.set, o.Only) {
			continue
		}
		r, err := o.plan(ctx, k)
		if err != nil {
			return nil, nil, fmt.Errorf("%s %s: %w", k.set, k.name, err)
		}
		o.Say("%-18s %-10s %8d (best known %d, %+.2f %%; no plan below %d) %.1f s", r.Set, r.Instance, r.Objective, r.Best, r.Percent, r.Bound, r.Seconds)
		runs = append(runs, r)
	}
	return runs, sumUp(runs), nil
}

// readKnown reads the lists bestknown.csv (set, instance, bound, best) and, where there is one, bestknown_twt.csv
// (instance, jobs used, factor, best).
func readKnown(dir string) (all []published, err error) {
	lines, err := readTable(filepath.Join(dir, "bestknown.csv"))
	if err != nil {
		return nil, err
	}
	for _, l := range lines {
		best, err := strconv.ParseInt(l[3], 10, 64)
		if err != nil {
			best = -1 // infeasible
		}
		all = append(all, published{set: l[0], name: l[1], best: best})
	}
	lines, err = readTable(filepath.Join(dir, "bestknown_twt.csv"))
	if os.IsNotExist(err) {
		return all, nil
	}
	for _, l := range lines {
		k, err := readPromised(l)
		if err != nil {
			return nil, fmt.Errorf("bestknown_twt.csv: %s: %w", strings.Join(l, ","), err)
		}
		all = append(all, k)
	}
	return all, err
}

// readPromised reads a line of bestknown_twt.csv: how many jobs are used is "all" or "first 10".
func readPromised(l []string) (k published, err error) {
	k = published{set: "twt/" + l[2], name: l[0]}
	if l[1] != "all" {
		if k.jobs, err = strconv.Atoi(strings.TrimSpace(strings.TrimPrefix(l[1], "first"))); err != nil {
			return k, err
		}
	}
	if k.factor, err = strconv.ParseFloat(l[2], 64); err != nil {
		return k, err
	}
	k.best, err = strconv.ParseInt(l[3], 10, 64)
	return k, err
}

// readTable reads a table's lines after its heading.
func readTable(path string) ([][]string, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	if err != nil || len(all) == 0 {
		return nil, err
	}
	for i, l := range all[1:] {
		if len(l) < 4 {
			return nil, fmt.Errorf("%s: line %d has %d fields", path, i+2, len(l))
		}
	}
	return all[1:], nil
}

// plan plans one instance.
func (o PlannerOptions) plan(ctx context.Context, k published) (r PlannerRun, err error) {
	r = PlannerRun{Set: k.set, Instance: k.name, Objective: -1, Best: k.best}
	p, err := o.read(k)
	if err != nil {
		return r, err
	}
	ctx, gone, cancel := o.Clock.within(ctx, o.budgetOf(k.set))
	defer cancel()
	a, err := p.Solve(ctx, instance.Options{Seed: o.Seed, Budget: untilItsContext, Target: max(k.best, 0)})
	r.Seconds = gone().Seconds()
	if none := fault.Reason(err); none == "NO_PLAN" || none == "NO_PLAN_IN_TIME" {
		r.Proven = none == "NO_PLAN"
		return r, nil
	}
	if err != nil {
		return r, err
	}
	r.Objective, r.Bound, r.Proven = a.Objective, a.LowerBound, a.Objective == a.LowerBound
	if k.best > 0 {
		r.Percent = 100 * float64(r.Objective-k.best) / float64(k.best)
	}
	return r, nil
}

// untilItsContext is a budget that no instance uses up: its context ends before.
const untilItsContext = 24 * time.Hour
