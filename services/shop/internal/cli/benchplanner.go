package cli

import (
	"fmt"
	"time"

	"tackfree/services/shop/internal/bench"
	"tackfree/services/shop/internal/report"
)

type benchPlannerCmd struct {
	JSON   bool          `help:"Print the result as JSON." name:"json"`
	Dir    string        `arg:"" optional:"" type:"existingdir" help:"Published instances: bestknown.csv (set, instance, bound, best known), a folder for each set, and floors as shop/shop_*.json. Without it, those that the program has."`
	Only   string        `help:"Only sets whose names begin so, such as jsp/la; shop are the floors." placeholder:"SET"`
	Budget time.Duration `help:"How long a run takes at most; without it 10s, of ta 20s, with promises 15s, of projects 5s. Floors take 2s."`
	Long   bool          `help:"Plan floors for a minute too, by five seeds."`
	Clock  string        `help:"What a second is: one on the wall, or of processor time over the cores, as on a machine with nothing else to do." enum:"wall,cpu" default:"wall"`
	Seed   uint64        `help:"Another number searches another way; floors are planned by 1 to 5 whatever it is." default:"1"`
}

// Run is called by kong.
func (c *benchPlannerCmd) Run(e *env) error {
	o := e.options(1, time.Second, c.JSON)
	po := bench.PlannerOptions{Dir: c.Dir, Only: c.Only, Seed: c.Seed, Budget: c.Budget, Clock: bench.PlannerClock(c.Clock), Long: c.Long, Say: o.Say}
	runs, sets, err := bench.RunPlanner(e.ctx, po)
	if err != nil {
		return err
	}
	floors, err := bench.RunPlannerFloors(e.ctx, po)
	if err != nil {
		return err
	}
	if c.JSON {
		return e.result(true, map[string]any{"clock": c.Clock, "runs": runs, "sets": sets, "floors": floors}, "")
	}
	return e.printPlanner(c.Clock, sets, floors)
}

func (e *env) printPlanner(clock string, sets []bench.PlannerSet, floors []bench.FloorRun) error {
	if err := e.result(false, nil, "seconds of %s time; percent over the best known", map[string]string{"wall": "wall clock", "cpu": "processor"}[clock]); err != nil {
		return err
	}
	if len(sets) > 0 {
		t := &report.Table{Headings: []string{"set", " instances", " reached", " proven", " mean %", " worst %", " seconds"}}
		for _, s := range sets {
			t.Add(s.Set, fmt.Sprint(s.Instances), fmt.Sprint(s.Reached), fmt.Sprint(s.Proven), fmt.Sprintf("%.3f", s.Mean), fmt.Sprintf("%.2f", s.Worst), fmt.Sprintf("%.1f", s.Seconds))
		}
		if err := t.Print(e.out); err != nil {
			return err
		}
	}
	return printFloors(e, floors)
}

// printFloors prints how late floors are, and what one absence changes.
func printFloors(e *env, floors []bench.FloorRun) error {
	if len(floors) == 0 {
		return nil
	}
	t := &report.Table{Headings: []string{"floor", " pieces", " operations", " first ms", " late 2 s", " late 60 s", " bound", " heap MB"}}
	moves := &report.Table{Headings: []string{"floor, one away", " absences", " own %", " worst", " moved %", " worst", " missed", " ms", " worst"}}
	for _, f := range floors {
		long := "–"
		if f.Long > 0 {
			long = fmt.Sprintf("%.0f", f.Long)
		}
		t.Add(f.Floor, fmt.Sprint(f.Pieces), fmt.Sprint(f.Operations), fmt.Sprintf("%.1f", f.First), fmt.Sprintf("%.0f", f.Short), long, fmt.Sprintf("%.0f", f.Bound), fmt.Sprintf("%.0f", f.Heap))
		if r := f.Replan; r != nil {
			moves.Add(f.Floor, fmt.Sprint(r.Absences), fmt.Sprintf("%.1f", r.OwnMedian), fmt.Sprintf("%.1f", r.OwnWorst), fmt.Sprintf("%.1f", r.MovedMedian), fmt.Sprintf("%.1f", r.MovedWorst),
				fmt.Sprint(r.Missed), fmt.Sprintf("%.0f", r.Median), fmt.Sprintf("%.0f", r.Worst))
		}
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	if err := e.result(false, nil, "after an absence: of what begins in two days, what was theirs meanwhile and what is moved"); err != nil {
		return err
	}
	return moves.Print(e.out)
}
