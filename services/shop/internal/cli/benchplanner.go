package cli

import (
	"fmt"
	"time"

	"tackfree/services/shop/internal/bench"
	"tackfree/services/shop/internal/report"
)

type benchPlannerCmd struct {
	JSON   bool          `help:"Print the result as JSON." name:"json"`
	Dir    string        `arg:"" type:"existingdir" help:"Published instances: bestknown.csv (set, instance, bound, best known) and a folder for each set."`
	Only   string        `help:"Only sets whose names begin so, such as jsp/la." placeholder:"SET"`
	Budget time.Duration `help:"How long a run takes at most; without it 10s, of ta 20s, with promises 15s, of projects 5s."`
	Seed   uint64        `help:"Another number searches another way." default:"1"`
}

// Run is called by kong.
func (c *benchPlannerCmd) Run(e *env) error {
	o := e.options(1, time.Second, c.JSON)
	runs, sets, err := bench.RunPlanner(e.ctx, bench.PlannerOptions{Dir: c.Dir, Only: c.Only, Seed: c.Seed, Budget: c.Budget, Say: o.Say})
	if err != nil {
		return err
	}
	if c.JSON {
		return e.result(true, map[string]any{"runs": runs, "sets": sets}, "")
	}
	t := &report.Table{Headings: []string{"set", " instances", " reached", " proven", " mean %", " worst %", " seconds"}}
	for _, s := range sets {
		t.Add(s.Set, fmt.Sprint(s.Instances), fmt.Sprint(s.Reached), fmt.Sprint(s.Proven), fmt.Sprintf("%.3f", s.Mean), fmt.Sprintf("%.2f", s.Worst), fmt.Sprintf("%.1f", s.Seconds))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	return e.result(false, nil, "over the best known")
}
