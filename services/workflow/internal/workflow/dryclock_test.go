package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// What a stage leaves wet dries as a film if its product's sheet is known, as wet wood if it
// wetted wood, by its planned minutes otherwise; what plans no time leaves nothing wet.
func TestPlan_Begin_KindOfClock(t *testing.T) {
	tests := map[string]struct {
		stage workflow.Stage
		want  workflow.DryKind
	}{
		"Film":        {workflow.Stage{Kind: "topcoat_coat", Unattended: time.Hour, Finish: workflow.Finish{Coating: coated(waterVarnish())}}, workflow.FilmDries},
		"NoTimes":     {workflow.Stage{Kind: "topcoat_coat", Unattended: time.Hour, Finish: workflow.Finish{Coating: coated(drying.Product{})}}, workflow.MinutesPass},
		"DryOut":      {workflow.Stage{Kind: "dry_out", Unattended: time.Hour}, workflow.WoodDries},
		"WashOff":     {workflow.Stage{Kind: "wash_off", Unattended: time.Hour}, workflow.WoodDries},
		"Neutralise":  {workflow.Stage{Kind: "neutralise_or_wash_off", Unattended: time.Hour}, workflow.WoodDries},
		"RaiseGrain":  {workflow.Stage{Kind: "raise_grain", Unattended: time.Hour}, workflow.WoodDries},
		"Strip":       {workflow.Stage{Kind: "strip", Unattended: time.Hour}, workflow.WoodDries},
		"Clean":       {workflow.Stage{Kind: "clean_and_degrease", Unattended: time.Hour}, workflow.WoodDries},
		"Glue":        {workflow.Stage{Kind: "glue_and_clamp", Unattended: time.Hour}, workflow.MinutesPass},
		"NothingWet":  {workflow.Stage{Kind: "strip"}, ""},
		"Seasoning":   {workflow.Stage{Kind: "dry_out", Unattended: 100 * 24 * time.Hour}, workflow.MinutesPass},
		"RoutesPaint": {workflow.Stage{Kind: "paint_coat", Unattended: time.Hour}, workflow.MinutesPass},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			var got workflow.DryKind
			if c := new(workflow.Plan).Begin(test.stage, 0, id.Nil); c != nil {
				got = c.Kind
			}
			if got != test.want {
				t.Errorf("Begin(%s) = %q, want %q", test.stage.Kind, got, test.want)
			}
		})
	}
}

// The film and the zone are as asked for, else as planned, else nobody's.
func TestPlan_Begin_FilmAndZone(t *testing.T) {
	planned, asked := id.New(), id.New()
	p, first, _ := topcoats()
	first.FinishedAt = nine
	if c := p.Begin(*first, 0, id.Nil); c.FilmUm != 0 || c.Stays[0] != (workflow.Stay{From: nine}) {
		t.Errorf("nobody said anything: %v µm, stays %v", c.FilmUm, c.Stays)
	}
	first.WetFilmUm, first.Zone = 120, planned
	if c := p.Begin(*first, 0, id.Nil); c.FilmUm != 120 || c.Stays[0].Zone != planned {
		t.Errorf("as planned: %v µm, stays %v", c.FilmUm, c.Stays)
	}
	if c := p.Begin(*first, 90, asked); c.FilmUm != 90 || c.Stays[0].Zone != asked {
		t.Errorf("as asked for: %v µm, stays %v", c.FilmUm, c.Stays)
	}
}

// It is ready for the least that a stage right after it needs.
func TestPlan_Begin_Needs(t *testing.T) {
	for want, next := range map[finish.Needs][]finish.Needs{
		finish.NeedsSand:   {finish.NeedsCured, finish.NeedsSand, finish.NeedsRecoat},
		finish.NeedsCured:  {finish.NeedsCured, finish.NeedsNothing},
		finish.NeedsRecoat: {},
	} {
		p, first, second := topcoats()
		second.After = nil
		stage := *first
		for _, n := range next {
			p.Stages = append(p.Stages, workflow.Stage{ID: id.New(), After: []id.ID{stage.ID}, Finish: workflow.Finish{Needs: n}})
		}
		if got := p.Begin(stage, 0, id.Nil).Needs; got != want {
			t.Errorf("before stages that need %q it needs %q, want %q", next, got, want)
		}
	}
}

// What the maker does not state is taken from what comes near it.
func TestDryClock_Reaches_FallsBack(t *testing.T) {
	only := func(m drying.Milestone) drying.Product {
		p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Solvent}, FilmUm: 100}
		p.Stated[m] = time.Hour
		return p
	}
	for _, m := range []drying.Milestone{drying.SetToTouch, drying.TackFree, drying.DryToSand, drying.DryToRecoat, drying.Cured} {
		p, first, _ := topcoats()
		first.Coating = coated(only(m))
		c := finished(t, p, first, id.Nil, workflow.NewAirs(nil))
		for _, n := range []finish.Needs{finish.NeedsSand, finish.NeedsRecoat, finish.NeedsCured} {
			about(t, "only "+m.String()+" is stated, "+string(n), c.Reaches(n).Likely, later(1))
		}
	}
	p, first, _ := topcoats() // tack-free after 1 h, recoat after 2 h, no sanding
	c := finished(t, p, first, id.Nil, workflow.NewAirs(nil))
	about(t, "sand, from tack-free", c.Reaches(finish.NeedsSand).Likely, later(1))
	about(t, "recoat", c.Reaches(finish.NeedsRecoat).Likely, later(2))
	about(t, "cured", c.Reaches(finish.NeedsCured).Likely, later(72))
	about(t, "window closes", c.Closes(), later(24))
}

func TestDryClock_Move(t *testing.T) {
	p, first, _ := topcoats()
	bench, rack, booth := workflow.Zone{ID: id.New(), Word: "bench"}, workflow.Zone{ID: id.New(), Word: "rack"}, workflow.Zone{ID: id.New(), Word: "booth"}
	c := finished(t, p, first, bench.ID, workflow.NewAirs(nil))
	if err := c.Move(rack, later(-1)); !fault.Is(err, "MOVE_BEFORE_LAST") || c.ZoneWord != "" {
		t.Errorf("Move before it was laid = %v, in %q", err, c.ZoneWord)
	}
	for _, move := range []struct {
		to   workflow.Zone
		want int
	}{{rack, 2}, {booth, 2}} { // the second at the same time is what was meant
		if err := c.Move(move.to, later(1)); err != nil || len(c.Stays) != move.want || c.Stays[1] != (workflow.Stay{Zone: move.to.ID, From: later(1)}) || c.ZoneWord != move.to.Word {
			t.Errorf("Move to %s = %v, stays %v in %q", move.to.Word, err, c.Stays, c.ZoneWord)
		}
	}
	if err := c.Move(rack, later(0.5)); !fault.Is(err, "MOVE_BEFORE_LAST") {
		t.Errorf("Move before the last move = %v, want MOVE_BEFORE_LAST", err)
	}
}
