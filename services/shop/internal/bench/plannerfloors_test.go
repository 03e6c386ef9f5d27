package bench

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/planner"
	"tackfree/services/shop/internal/instance"
)

// A made up floor can be planned in whole, is the same again, and another seed makes another.
func TestMadeFloor(t *testing.T) {
	p := madeFloor(40, 1)
	plan, err := planner.Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if err := accepted(p, plan); err != nil {
		t.Fatal(err)
	}
	same, err := planner.Dispatch(madeFloor(40, 1))
	if err != nil || same.Objective != plan.Objective {
		t.Errorf("again %+v, and not %+v; %v", same.Objective, plan.Objective, err)
	}
	other, err := planner.Dispatch(madeFloor(40, 2))
	if err != nil || other.Objective == plan.Objective {
		t.Errorf("another seed makes the same floor, %+v; %v", other.Objective, err)
	}
}

// By hand: of what Ana was to begin in the two days after, one of two operations is of the day she is away.
func TestAbsent(t *testing.T) {
	p := &planner.Problem{Horizon: 9000, Workers: []planner.Worker{{ID: "Ana", Calendar: planner.Calendar{{Start: 480, End: 960}, {Start: 1920, End: 2400}}}, {ID: "Ben"}}, Operations: make([]planner.Operation, 5)}
	known := &planner.Plan{Slots: []planner.Slot{{Worker: 0, Start: 480, End: 590}, {Worker: 0, Start: 700, End: 720}, {Worker: 1, Start: 600, End: 700}, {Worker: 0, Start: 1920, End: 1930}, {Worker: 1, Start: 3480, End: 3500}}}
	q, hit, of := absent(p, known, 0, 600)
	if hit != 1 || of != 3 || len(q.Fixed) != 1 || q.Fixed[0].Operation != 0 || q.Now != 600 {
		t.Errorf("%d of %d, fixed %v, now %d", hit, of, q.Fixed, q.Now)
	}
	if c := q.Workers[0].Calendar; len(c) != 2 || c[0] != (planner.Window{Start: 480, End: 600}) || c[1] != (planner.Window{Start: 1920, End: 2400}) {
		t.Errorf("there at %v", c)
	}
	if len(p.Workers[0].Calendar) != 2 || p.Workers[0].Calendar[0].End != 960 {
		t.Error("the floor before is changed")
	}
}

// The program's own instances are there, and the small one is solved.
func TestOwnKnown(t *testing.T) {
	o := PlannerOptions{Seed: 1, Clock: CPU, Budget: 3 * time.Second, Say: t.Logf}
	for _, k := range ownKnown {
		if _, err := o.read(k); err != nil {
			t.Errorf("%s: %v", k.name, err)
		}
	}
	r, err := o.plan(t.Context(), ownKnown[0])
	if err != nil || r.Objective != 55 || !r.reached() {
		t.Errorf("ft06: %+v, %v", r, err)
	}
}

// A search ends when the processor time is used up, though the wall clock has more.
func TestPlannerClock(t *testing.T) {
	const budget = 60 * time.Millisecond
	for _, clock := range []PlannerClock{Wall, CPU} {
		ctx, gone, cancel := clock.within(t.Context(), budget)
		n := 0
		for ctx.Err() == nil {
			n++
		}
		if took := gone(); took < budget || took > 50*budget {
			t.Errorf("by the %s clock it ends after %s, and not %s; %d turns", clock, took, budget, n)
		}
		cancel()
	}
	ctx, cancel := context.WithCancel(t.Context())
	b := CPU.budget(ctx, time.Hour)
	if part := b(); part >= 1 {
		t.Errorf("%v of an hour are gone at once", part)
	}
	if cancel(); b() < 1 {
		t.Error("a cancelled context leaves time")
	}
}

// What is measured of a floor comes of its plans: none is less late than the bound.
func TestMeasureFloor(t *testing.T) {
	o := PlannerOptions{Seed: 1, Clock: CPU, Say: t.Logf}
	known, err := planner.Dispatch(madeFloor(12, 3))
	if err != nil {
		t.Fatal(err)
	}
	r, err := o.replans(t.Context(), namedFloor{"made", madeFloor(12, 3)}, known)
	if err != nil || r == nil || r.Absences == 0 || r.MovedMedian > r.MovedWorst || r.Worst <= 0 {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := instance.Taillard(15, 15, ownSeeds[0][0], ownSeeds[0][1]); err != nil {
		t.Error(err)
	}
}
