package workflow_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// observe has somebody feel the film, and the product learn from it alone.
func observe(t testing.TB, c *workflow.DryClock, o drying.Outcome, airs *workflow.Airs) drying.Factor {
	t.Helper()
	stands, err := c.Observe(o, airs)
	if err != nil {
		t.Fatal(err)
	}
	c.Dries.Factor = drying.Learn([][]drying.Interval{{stands}})
	c.Lessons++
	forecast(t, c, airs)
	return c.Dries.Factor
}

// wetFilm is a coat that was laid at nine, in the air of its sheet.
func wetFilm(t testing.TB) *workflow.DryClock {
	t.Helper()
	p, first, _ := topcoats()
	first.Coating.Dries.Stated[drying.DryToSand] = 90 * time.Minute
	return finished(t, p, first, id.Nil, workflow.NewAirs(nil))
}

// Somebody felt it: a milestone is when it was felt, and the product is slow here.
func TestDryClock_Observe(t *testing.T) {
	airs := workflow.NewAirs(nil)
	c := wetFilm(t)
	factor := observe(t, c, drying.Outcome{Milestone: drying.DryToRecoat, NotYet: later(2.5), Reached: later(3)}, airs)
	about(t, "dry to recoat", c.Ready().Likely, later(3))
	if low, high := workflow.FactorRange(factor); !(factor.Usual() > 1.05 && low < factor.Usual() && high > factor.Usual()) || factor.Outcomes != 1 || c.Learned != 1 {
		t.Errorf("factor %v between %v and %v from %d outcomes", factor.Usual(), low, high, factor.Outcomes)
	}
	if cured := c.Windows[drying.Cured].Likely; !cured.After(later(75)) {
		t.Errorf("it cures at %v, want later than by the sheet: this product is slow here", cured)
	}
	observe(t, c, drying.Outcome{Milestone: drying.DryToRecoat, NotYet: later(4)}, airs)
	if ready := c.Ready().Likely; !ready.After(later(4)) {
		t.Errorf("still tacky at four hours, and ready at %v", ready)
	}
	observe(t, c, drying.Outcome{Milestone: drying.Cured, Reached: later(70)}, airs)
	for m, w := range c.Windows {
		if m != drying.RecoatCloses && w.Late.After(later(70)) {
			t.Errorf("it has cured, and is %s as late as %v", m, w.Late)
		}
	}
}

// Still tacky at three hours: nothing that comes after tack-free has come, and the part is
// not ready then, whatever its sheet says of the next coat.
func TestDryClock_Observe_StillTackyHoldsTheNextCoat(t *testing.T) {
	for m, following := range map[drying.Milestone][]drying.Milestone{
		drying.TackFree:    {drying.TackFree, drying.DryToSand, drying.DryToRecoat, drying.Cured},
		drying.DryToSand:   {drying.DryToSand, drying.Cured},
		drying.DryToRecoat: {drying.DryToRecoat, drying.Cured},
	} {
		c := wetFilm(t)
		before := c.Windows[drying.TackFree]
		observe(t, c, drying.Outcome{Milestone: m, NotYet: later(3)}, workflow.NewAirs(nil))
		for _, f := range following {
			if w := c.Windows[f]; !w.Early.After(later(3)) || w.Likely.Before(w.Early) || w.Late.Before(w.Likely) || w.Passed(later(3)) {
				t.Errorf("not yet %s at three hours, and %s at %v", m, f, w)
			}
		}
		if m != drying.TackFree && c.Windows[drying.TackFree].Likely.After(later(3)) {
			t.Errorf("not yet %s, and tack-free at %v instead of %v", m, c.Windows[drying.TackFree], before)
		}
		if m != drying.DryToSand && c.Reaches(finish.NeedsRecoat).Passed(later(3)) {
			t.Errorf("not yet %s, and ready for the next coat", m)
		}
	}
}

// What a finger felt counts, however little the sheet has it so: the clock waits for it, and
// the product learns nothing from it.
func TestDryClock_Observe_WhatCanHardlyBe(t *testing.T) {
	airs := workflow.NewAirs(nil)
	c := wetFilm(t)
	if f := observe(t, c, drying.Outcome{Milestone: drying.TackFree, NotYet: later(500)}, airs); f.Outcomes != 0 || f.Usual() != 1 {
		t.Errorf("still tacky after three weeks, and the product has learned %+v", f)
	}
	if ready := c.Ready().Likely; !ready.After(later(501)) || ready.After(later(2000)) {
		t.Errorf("still tacky after three weeks, and ready at %v", ready)
	}
	c = wetFilm(t)
	observe(t, c, drying.Outcome{Milestone: drying.Cured, Reached: later(0.1)}, airs)
	if !c.IsReady(later(0.1)) || c.Dries.Factor.Outcomes != 0 {
		t.Errorf("cured after six minutes, and ready at %v, learned %+v", c.Ready().Likely, c.Dries.Factor)
	}
}

// Somebody was mistaken, and says so by looking again: what is known of the milestone is what
// they said last, and what it stands for too.
func TestDryClock_Observe_Corrected(t *testing.T) {
	airs := workflow.NewAirs(nil)
	c := wetFilm(t)
	stands := func(o drying.Outcome) drying.Interval {
		i, err := c.Observe(o, airs)
		if err != nil {
			t.Fatal(err)
		}
		return i
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if got != want && !(math.Abs(got-want) < 1e-6) {
			t.Errorf("%s = %v, want %v", what, got, want)
		}
	}
	i := stands(drying.Outcome{Milestone: drying.DryToRecoat, NotYet: later(1)})
	near("not yet after half of the two hours", i.Low, math.Log(0.5))
	near("and no end", i.High, math.Inf(1))
	i = stands(drying.Outcome{Milestone: drying.DryToRecoat, Reached: later(3)})
	near("what was seen first", i.Low, math.Log(0.5))
	near("dry after three", i.High, math.Log(1.5))
	i = stands(drying.Outcome{Milestone: drying.DryToRecoat, NotYet: later(4)})
	near("not at three after all", i.Low, math.Log(2))
	near("nor ever", i.High, math.Inf(1))
}

// The sheet does not say when it is tack-free. That it is still tacky holds the next coat all
// the same; that it is not tacky any more tells nothing that the sheet could be held against.
func TestDryClock_Observe_WhatTheSheetDoesNotState(t *testing.T) {
	p, first, _ := topcoats()
	first.Coating.Dries.Stated[drying.TackFree] = 0
	airs := workflow.NewAirs(nil)
	c := finished(t, p, first, id.Nil, airs)
	observe(t, c, drying.Outcome{Milestone: drying.TackFree, NotYet: later(3)}, airs)
	if ready := c.Ready().Likely; !ready.After(later(3)) {
		t.Errorf("still tacky at three hours, and ready for another coat at %v", ready)
	}
	_, err := c.Observe(drying.Outcome{Milestone: drying.TackFree, Reached: later(4)}, airs)
	refusedWords(t, err, "NOT_STATED", "tack-free", "it states when it is dry to recoat, cured")
}
