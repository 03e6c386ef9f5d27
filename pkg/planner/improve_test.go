package planner

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"sync/atomic"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
)

// sound fails where a plan breaks a constraint or leaves something out.
func sound(t interface{ Fatalf(string, ...any) }, p *Problem, plan *Plan) {
	if b := broken(p, plan); len(b) > 0 {
		t.Fatalf("%d constraints are broken, the first: %s", len(b), b[0])
	}
	if len(plan.Left) > 0 {
		t.Fatalf("%d operations are left out on a floor with room for all", len(plan.Left))
	}
}

// No plan that Improve gives breaks a constraint, is worse than the one it began with, or is below the bound.
func TestImprove_KeepsEveryConstraint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		start, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		o := Options{Seed: rapid.Uint64().Draw(t, "seed"), Cores: 2, Iterations: 60, Aims: rapid.SampledFrom([][]Aim{nil, {Tardiness, Makespan, Flow}, {Makespan}}).Draw(t, "aims")}
		var from *Plan
		if rapid.Bool().Draw(t, "from a plan") {
			from = start
		}
		plan, err := Improve(p, from, o, func(i Improvement) {
			if b := broken(p, i.Plan); len(b) > 0 {
				t.Fatalf("on the way: %s", b[0])
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		sound(t, p, plan)
		if from != nil && (plan.Objective.Tardiness > start.Objective.Tardiness && o.Aims == nil || o.Aims != nil && o.Aims[0] == Makespan && plan.Objective.Makespan > start.Objective.Makespan) {
			t.Fatalf("from %+v to %+v", start.Objective, plan.Objective)
		}
		bound, err := Bound(p)
		if err != nil {
			t.Fatal(err)
		}
		if plan.Objective.Tardiness < bound.Tardiness || plan.Objective.Flow < bound.Flow || plan.Objective.Makespan < bound.Makespan {
			t.Fatalf("a plan that costs %+v is below the bound, %+v", plan.Objective, bound)
		}
		again, err := Improve(p, from, o, nil)
		if err != nil || !reflect.DeepEqual(plan, again) {
			t.Fatalf("the same seed gives another plan, or %v", err)
		}
	})
}

// tiny draws a floor that can be tried out in whole: five hours of ten minutes for two people and a booth.
func tiny(d *dice) *Problem {
	p := &Problem{Horizon: 220, Workers: []Worker{{"a", Calendar{{0, 80}, {100, 220}}}, {"b", Calendar{{20, 220}}}}, Stations: []Station{{ID: "booth", Capacity: 1, Calendar: Calendar{{0, 60}, {80, 220}}}, {ID: "bench", Capacity: 1}}}
	for i := range 1 + d.below(3) {
		p.Pieces = append(p.Pieces, Piece{"p", 10 * d.below(4), 30 + 10*d.below(8), float64(1 + d.below(3))})
		for j := range 1 + d.below(2) {
			o := Operation{Piece: i, Demand: 1, Splittable: d.once(2), Modes: []Mode{{Worker: 0, Minutes: 10 + 10*d.below(3)}, {Worker: 1, Minutes: 10 + 10*d.below(3)}}}
			if d.once(3) {
				o.Modes = o.Modes[:1]
			}
			if d.once(2) {
				o.Stations = [][]int{{0}, {1}, {0, 1}}[d.below(3)]
			}
			p.Operations = append(p.Operations, o)
			if n := len(p.Operations); j > 0 {
				l := Lag{n - 2, n - 1, 10 * d.below(3), Forever}
				if d.once(2) {
					l.Max = l.Min + 10*d.below(4)
				}
				p.Lags = append(p.Lags, l)
			}
		}
	}
	return p
}

// exhaustive gives the least weighted tardiness of all plans with starts at whole tens of minutes. It tries
// each, and asks the checker of plans whether it may be.
func exhaustive(p *Problem) float64 {
	best, slots := 1e18, make([]Slot, len(p.Operations))
	var try func(op int)
	try = func(op int) {
		if op == len(slots) {
			cost := 0.0
			for i, piece := range p.Pieces {
				for j, s := range slots {
					if p.Operations[j].Piece == i && !slices.ContainsFunc(p.Lags, func(l Lag) bool { return l.From == j }) {
						cost += piece.Weight * float64(max(0, s.End-piece.Due))
					}
				}
			}
			best = min(best, cost)
			return
		}
		part := *p
		part.Operations, part.Lags = p.Operations[:op+1], slices.DeleteFunc(slices.Clone(p.Lags), func(l Lag) bool { return l.To > op })
		stations := p.Operations[op].Stations
		if stations == nil {
			stations = []int{NoStation}
		}
		for _, m := range p.Operations[op].Modes {
			for _, station := range stations {
				for start := 0; start <= 140; start += 10 {
					for end := start + m.Minutes; end <= start+m.Minutes+40; end += 10 {
						slots[op] = Slot{m.Worker, station, start, end}
						if len(broken(&part, &Plan{Slots: slots[:op+1]})) == 0 {
							try(op + 1)
						}
					}
				}
			}
		}
	}
	try(0)
	return best
}

// On floors small enough to try every plan, none is better than what Improve gives.
func TestImprove_AsGoodAsAllPlans(t *testing.T) {
	for seed := range uint64(12) {
		d := &dice{*rand.NewPCG(seed, 5)}
		p := tiny(d)
		for len(p.Operations) > 3 {
			p = tiny(d)
		}
		plan, err := Improve(p, nil, Options{Seed: 1, Cores: 1, Iterations: 1500, Aims: []Aim{Tardiness}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, p, plan)
		if best := exhaustive(p); plan.Objective.Tardiness != best {
			t.Errorf("floor %d: %v, and the best of all plans is %v", seed, plan.Objective.Tardiness, best)
		}
	}
}

// An hour's floor of one pair of hands: weighted completion times are least in the order of minutes by weight
// (Smith, Naval Research Logistics Quarterly 3 (1956) 59-66).
func TestImprove_Smith(t *testing.T) {
	p := &Problem{Horizon: 10_000, Workers: []Worker{{}}}
	for i, x := range [][2]int{{30, 1}, {20, 4}, {50, 9}, {10, 1}, {40, 2}, {60, 7}, {25, 3}} {
		p.Pieces = append(p.Pieces, Piece{Due: NoDue, Weight: float64(x[1])})
		p.Operations = append(p.Operations, Operation{Piece: i, Modes: []Mode{{Worker: 0, Minutes: x[0]}}})
	}
	order := []int{1, 2, 6, 5, 3, 4, 0}
	at, want := 0, 0.0
	for _, i := range order {
		at += p.Operations[i].Modes[0].Minutes
		want += float64(at) * p.Pieces[i].Weight
	}
	plan, err := Improve(p, nil, Options{Seed: 1, Cores: 1, Iterations: 3000, Aims: []Aim{Flow}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Objective.Flow != want {
		t.Errorf("flow %v, want %v", plan.Objective.Flow, want)
	}
}

// ft06 as above: its shortest makespan, 55, is found.
func TestImprove_FisherAndThompson(t *testing.T) {
	p := ft06()
	plan, err := Improve(p, nil, Options{Seed: 1, Cores: 2, Iterations: 4000, Aims: []Aim{Makespan}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, p, plan)
	if plan.Objective.Makespan != 55 {
		t.Errorf("makespan %d, want 55", plan.Objective.Makespan)
	}
}

// What waits between two operations of one block is placed with them.
func TestDispatch_BlocksInACircle(t *testing.T) {
	p := &Problem{Horizon: 10 * 1440, Workers: []Worker{{"w", shifts(9, 480)}, {"v", shifts(9, 480)}}, Pieces: []Piece{{"p", 0, NoDue, 1}, {"q", 0, NoDue, 1}},
		Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 30}}}, {Modes: []Mode{{Worker: 1, Minutes: 50}}}, {Modes: []Mode{{Worker: 0, Minutes: 30}}}, {Piece: 1, Modes: []Mode{{Worker: 0, Minutes: 100}}}},
		Lags:       []Lag{{0, 2, 0, 200}, {0, 1, 0, Forever}, {1, 2, 0, Forever}}}
	plan, err := Improve(p, nil, Options{Cores: 1, Iterations: 50}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, p, plan)
	if plan.Slots[2].End == 0 {
		t.Error("the last of the block is nowhere")
	}
}

// When the budget is over, it is the plan at the start.
func TestImprove_BudgetOver(t *testing.T) {
	p := ft06()
	start, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := Improve(p, start, Options{Cores: 2, Budget: func() float64 { return 1 }}, nil)
	if err != nil || !reflect.DeepEqual(plan, start) {
		t.Errorf("another plan: %+v, %v", plan, err)
	}
}

// Better plans come in order.
func TestImprove_Tells(t *testing.T) {
	last, n := 1<<30, 0
	plan, err := Improve(ft06(), nil, Options{Seed: 3, Cores: 2, Iterations: 2000, Aims: []Aim{Makespan}}, func(i Improvement) {
		if n++; i.Plan.Objective.Makespan >= last {
			t.Errorf("%d after %d", i.Plan.Objective.Makespan, last)
		}
		last = i.Plan.Objective.Makespan
	})
	if err != nil || n < 2 || last != plan.Objective.Makespan {
		t.Errorf("told %d times, last of %d; %v", n, last, err)
	}
}

// A budget without iterations ends the search when it is gone, and not before.
func TestImprove_Budget(t *testing.T) {
	asked := atomic.Int64{}
	plan, err := Improve(ft06(), nil, Options{Seed: 1, Cores: 2, Aims: []Aim{Flow}, Budget: func() float64 { return float64(asked.Add(1)) / 400 }}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, ft06(), plan)
	if n := asked.Load(); n < 400 || n > 420 {
		t.Errorf("asked %d times, of which 400 were the budget", n)
	}
}

func TestImprove_Refuses(t *testing.T) {
	if _, err := Improve(ft06(), &Plan{}, Options{}, nil); !fault.Is(err, "PROBLEM_MALFORMED") {
		t.Errorf("a plan of nothing: %v", err)
	}
}

// Times that are all whole in some minutes give the same plan as if these were one.
func TestScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		by := rapid.IntRange(2, 7).Draw(t, "times")
		wide := scale{0, 1}.scaled(p)
		stretch(wide, by)
		if got, least := scaleOf(wide).step, by*scaleOf(p).step; got != least {
			t.Fatalf("a slot is %d minutes, want %d", got, least)
		}
		plan, err := Dispatch(wide)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, wide, plan)
	})
}

// stretch makes every time of a problem so many times as long.
func stretch(p *Problem, by int) {
	p.Horizon *= by
	for _, c := range []Calendar{p.Workers[0].Calendar, p.Stations[0].Calendar} {
		for i := range c {
			c[i] = Window{c[i].Start * by, c[i].End * by}
		}
	}
	for _, minutes := range p.Stations[0].Changeover {
		for to := range minutes {
			minutes[to] *= by
		}
	}
	for _, w := range p.Workers[1:] {
		for i := range w.Calendar {
			w.Calendar[i] = Window{w.Calendar[i].Start * by, w.Calendar[i].End * by}
		}
	}
	for i := range p.Pieces {
		p.Pieces[i].Release *= by
	}
	for i := range p.Operations {
		p.Operations[i].Earliest *= by
		for j := range p.Operations[i].Modes {
			p.Operations[i].Modes[j].Minutes *= by
		}
	}
	for i := range p.Lags {
		if p.Lags[i].Min *= by; p.Lags[i].Max != Forever {
			p.Lags[i].Max *= by
		}
	}
}
