package sales_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	"tackfree/services/sales/internal/sales"
)

func march(day int) time.Time { return time.Date(2026, 3, day, 0, 0, 0, 0, time.UTC) }

func steps(all ...sales.Step) sales.Plan { return sales.Plan{Steps: all} }

func step(day int, asking money.Amount) sales.Step {
	return sales.Step{Day: march(day), Asking: asking}
}

func TestListing_SetPlan_Refuses(t *testing.T) {
	least := steps(step(9, 25000), step(16, 19999))
	least.Least = 20000
	for name, c := range map[string]struct {
		plan   sales.Plan
		reason string
	}{
		"Today":         {steps(step(2, 25000)), "STEP_IN_PAST"},
		"Yesterday":     {steps(step(1, 25000)), "STEP_IN_PAST"},
		"Backward":      {steps(step(9, 25000), step(8, 20000)), "MARKDOWNS_OUT_OF_ORDER"},
		"SameDay":       {steps(step(9, 25000), step(9, 20000)), "MARKDOWNS_OUT_OF_ORDER"},
		"Rising":        {steps(step(9, 25000), step(16, 26000)), "STEPS_NOT_FALLING"},
		"Level":         {steps(step(9, 25000), step(16, 25000)), "STEPS_NOT_FALLING"},
		"AsIsAsked":     {steps(step(9, 30000)), "STEP_NOT_BELOW_ASKING"},
		"AboveIsAsked":  {steps(step(9, 30001)), "STEP_NOT_BELOW_ASKING"},
		"ForNothing":    {steps(step(9, 0)), "PRICE_ZERO"},
		"BelowTheLeast": {least, "STEP_BELOW_LEAST"},
	} {
		l := offeredOn(t, "fair")
		if _, err := l.SetPlan(c.plan, march(2)); !fault.Is(err, c.reason) || l.Version != 1 {
			t.Errorf("%s: SetPlan = %v, version %d, want %s", name, err, l.Version, c.reason)
		}
	}
	l := offeredOn(t, "fair")
	must(t, sell(&l))
	if _, err := l.SetPlan(steps(step(9, 25000)), march(2)); !fault.Is(err, "PIECE_SOLD") {
		t.Errorf("SetPlan of a sold piece = %v", err)
	}
	l = offeredOn(t, "fair")
	must(t, l.Withdraw(noon, "a show"))
	if _, err := l.SetPlan(steps(step(9, 25000)), march(2)); !fault.Is(err, "PIECE_NOT_LISTED") {
		t.Errorf("SetPlan of a withdrawn piece = %v", err)
	}
}

func states(plan sales.Plan) (out []sales.StepState) {
	for _, s := range plan.Steps {
		out = append(out, s.State)
	}
	return out
}

func TestListing_Due(t *testing.T) {
	cases := map[string]struct {
		asked money.Amount // by hand, meanwhile; zero: as it was listed
		day   int
		want  []sales.StepState
		state sales.PlanState
	}{
		"DayBefore":        {0, 8, []sales.StepState{sales.StepPlanned, sales.StepPlanned}, sales.PlanRunning},
		"OnTheDay":         {0, 9, []sales.StepState{sales.StepTaken, sales.StepPlanned}, sales.PlanRunning},
		"DaysLate":         {0, 15, []sales.StepState{sales.StepTaken, sales.StepPlanned}, sales.PlanRunning},
		"BothDue":          {0, 20, []sales.StepState{sales.StepPassedOver, sales.StepTaken}, sales.PlanDone},
		"LowerByHand":      {24000, 9, []sales.StepState{sales.StepNotLower, sales.StepPlanned}, sales.PlanRunning},
		"SameByHand":       {25000, 9, []sales.StepState{sales.StepNotLower, sales.StepPlanned}, sales.PlanRunning},
		"RaisedByHand":     {35000, 9, []sales.StepState{sales.StepTaken, sales.StepPlanned}, sales.PlanRunning},
		"LowestByHand":     {10000, 20, []sales.StepState{sales.StepPassedOver, sales.StepNotLower}, sales.PlanDone},
		"BetweenTheTwo":    {22000, 16, []sales.StepState{sales.StepPassedOver, sales.StepTaken}, sales.PlanDone},
		"LongBeforeItTook": {0, 3, []sales.StepState{sales.StepPlanned, sales.StepPlanned}, sales.PlanRunning},
	}
	for name, c := range cases {
		l := offeredOn(t, "fair")
		plan, err := l.SetPlan(steps(step(9, 25000), step(16, 20000)), march(2))
		must(t, err)
		if c.asked != 0 {
			_, err := l.ChangeAskingPrice(c.asked)
			must(t, err)
		}
		done := l.Due(&plan, march(c.day), noon)
		if diff := cmp.Diff(c.want, states(plan)); diff != "" || plan.State != c.state {
			t.Errorf("%s: %s (-want +got):\n%s", name, plan.State, diff)
		}
		if again := l.Due(&plan, march(c.day), noon); len(again) != 0 {
			t.Errorf("%s: looked at again, %d of %d steps are due again", name, len(again), len(done))
		}
	}
}

// Of what is sold, withdrawn or dropped nothing is due.
func TestListing_Due_Over(t *testing.T) {
	for name, end := range map[string]func(*sales.Listing, *sales.Plan) error{
		"Sold":      func(l *sales.Listing, _ *sales.Plan) error { return sell(l) },
		"Withdrawn": func(l *sales.Listing, _ *sales.Plan) error { return l.Withdraw(noon, "a show") },
		"Dropped":   func(l *sales.Listing, p *sales.Plan) error { return l.Drop(p) },
	} {
		l := offeredOn(t, "fair")
		plan, err := l.SetPlan(steps(step(9, 25000)), march(2))
		must(t, err)
		must(t, end(&l, &plan))
		if done := l.Due(&plan, march(20), noon); len(done) != 0 {
			t.Errorf("%s: %v is due", name, done)
		}
	}
	dropped := offeredOn(t, "fair")
	plan, err := dropped.SetPlan(steps(step(9, 25000), step(16, 20000)), march(2))
	must(t, err)
	dropped.Due(&plan, march(9), noon)
	must(t, dropped.Drop(&plan))
	if diff := cmp.Diff([]sales.StepState{sales.StepTaken, sales.StepEnded}, states(plan)); diff != "" {
		t.Errorf("steps of a dropped plan (-want +got):\n%s", diff)
	}
	l, ended := offeredOn(t, "fair"), sales.Plan{State: sales.PlanEnded}
	if err := l.Drop(&ended); !fault.Is(err, "MARKDOWN_PLAN_NOT_RUNNING") || l.Version != 1 {
		t.Errorf("a plan that ended is dropped: %v", err)
	}
}

// However often and on whatever days it is looked at, each step is done once, and what is asked only falls.
func TestListing_Due_OnceAndFalling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := sales.New(piece)
		if err := l.List(piece, noon, wire.NameKey, "fair", 100000); err != nil {
			t.Fatal(err)
		}
		plan, day, price := sales.Plan{}, 2, money.Amount(100000)
		for range rapid.IntRange(1, 6).Draw(t, "steps") {
			day += rapid.IntRange(1, 5).Draw(t, "days")
			price -= money.Amount(rapid.Int64Range(1, 10000).Draw(t, "less"))
			plan.Steps = append(plan.Steps, step(day, price))
		}
		plan, err := l.SetPlan(plan, march(2))
		if err != nil {
			t.Fatal(err)
		}
		looked, seen := 2, 0
		for looked < day {
			looked += rapid.IntRange(0, 9).Draw(t, "until it is looked at")
			for _, s := range l.Due(&plan, march(looked), noon) {
				seen++
				if s.State != sales.StepTaken {
					continue
				}
				if from, err := l.ChangeAskingPrice(s.Asking); err != nil || s.Asking >= from {
					t.Fatalf("from %d to %d: %v", from, s.Asking, err)
				}
			}
		}
		if seen != len(plan.Steps) || l.AskingPrice != price || plan.State != sales.PlanDone {
			t.Fatalf("%d of %d steps were done, and %d is asked, not %d; %s", seen, len(plan.Steps), l.AskingPrice, price, plan.State)
		}
	})
}
