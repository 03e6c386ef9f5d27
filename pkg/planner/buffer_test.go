package planner

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
)

// promisedFloor draws a floor of some weeks: pieces of three to six operations with drying in between, four people by
// day, one booth, and promises some of which leave time to spare.
func promisedFloor(seed uint64) (*Problem, Doubt) {
	d := &dice{*rand.NewPCG(seed, 77)}
	p := &Problem{Horizon: 120 * 1440, Stations: []Station{{ID: "booth", Capacity: 1}}}
	for i := range 4 {
		c := Calendar{}
		for _, w := range shifts(120, 420+30*d.below(4)) {
			if w.Start/1440%7 < 5 {
				c = append(c, w)
			}
		}
		p.Workers = append(p.Workers, Worker{fmt.Sprint("w", i), c})
	}
	for i := range 25 {
		p.Pieces = append(p.Pieces, Piece{ID: fmt.Sprint("p", i), Due: 1440 * (2 + d.below(14)), Weight: float64(int(1) << d.below(3))})
		for j := range 3 + d.below(4) {
			o := Operation{Piece: i, Demand: 1, Splittable: d.once(2)}
			for w := range p.Workers {
				if (i+j+w)%4 == 0 || d.once(2) {
					o.Modes = append(o.Modes, Mode{Worker: w, Minutes: 30 + 10*d.below(13)})
				}
			}
			if len(o.Modes) == 0 {
				o.Modes = []Mode{{Worker: 0, Minutes: 60}}
			}
			if d.once(3) {
				o.Stations = []int{0}
			}
			p.Operations = append(p.Operations, o)
			if n := len(p.Operations); j > 0 {
				p.Lags = append(p.Lags, Lag{n - 2, n - 1, 60 * d.below(8), Forever})
			}
		}
	}
	return p, doubts(p)
}

// doubts are those of people's work and of drying.
func doubts(p *Problem) (d Doubt) {
	for range p.Operations {
		d.Operations = append(d.Operations, 0.35)
	}
	for range p.Lags {
		d.Lags = append(d.Lags, 0.25)
	}
	return d
}

// fare plays a plan: the share of promises kept, and the weighted tardiness in the mean.
func fare(t *testing.T, p *Problem, plan *Plan, d Doubt, seed uint64) (kept, tardiness float64) {
	o, err := Simulate(p, plan, d, 300, seed)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range o {
		kept += x.Kept / float64(len(o))
		tardiness += x.Tardiness
	}
	return kept, tardiness
}

// Buffers keep more promises, also when times fall otherwise than those by which they were sized, and more than as
// long a search without them.
func TestSteady_KeepsMorePromises(t *testing.T) {
	var kept, tardiness [2]float64
	const floors, iterations = 8, 1500
	for seed := range uint64(floors) {
		p, d := promisedFloor(seed)
		start, err := Improve(p, nil, Options{Seed: seed, Cores: 1, Iterations: iterations}, nil)
		if err != nil {
			t.Fatal(err)
		}
		longer, err := Improve(p, start, Options{Seed: seed, Cores: 1, Iterations: iterations}, nil)
		if err != nil {
			t.Fatal(err)
		}
		steady, err := Steady(p, start, d, Options{Seed: seed, Cores: 1, Iterations: iterations}, nil)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, p, steady)
		for i, plan := range []*Plan{longer, steady} {
			k, x := fare(t, p, plan, d, 4242)
			kept[i] += k / floors
			tardiness[i] += x / floors
		}
	}
	if kept[1] < kept[0]+0.03 || tardiness[1] > 0.8*tardiness[0] {
		t.Errorf("kept %.3f without and %.3f with buffers, tardiness %.0f and %.0f", kept[0], kept[1], tardiness[0], tardiness[1])
	}
}

// By the draws that it plays, no plan of Steady's is worse than the one it began with, and each that it tells is better
// than the last; it keeps every constraint, costs what its promises say, and is the same each time.
func TestSteady_NeverWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		start, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		d, o := doubts(p), Options{Seed: rapid.Uint64().Draw(t, "seed"), Cores: 2, Iterations: 30}
		play := func(plan *Plan) (sum float64) {
			played, err := Simulate(p, plan, d, steadyRuns, o.Seed)
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range played {
				sum += x.Tardiness
			}
			return sum
		}
		told := []float64{}
		plan, err := Steady(p, start, d, o, func(i Improvement) { told = append(told, play(i.Plan)) })
		if err != nil {
			t.Fatal(err)
		}
		sound(t, p, plan)
		if len(told) == 0 || told[0] != play(start) || told[len(told)-1] != play(plan) {
			t.Fatalf("told of %v, began with %v and ended with %v", told, play(start), play(plan))
		}
		for i := range told[1:] {
			if told[i+1] >= told[i] {
				t.Fatalf("told of %v", told)
			}
		}
		if want := p.objective(plan.Slots, plan.placed()); plan.Objective != want {
			t.Fatalf("it costs %+v, and says %+v", want, plan.Objective)
		}
		if again, err := Steady(p, start, d, o, nil); err != nil || !reflect.DeepEqual(plan, again) {
			t.Fatalf("the same seed gives another plan, or %v", err)
		}
	})
}

func TestSteady_Refuses(t *testing.T) {
	p, d := promisedFloor(1)
	if _, err := Steady(p, &Plan{}, d, Options{}, nil); !fault.Is(err, "PROBLEM_MALFORMED") {
		t.Errorf("a plan of nothing: %v", err)
	}
	if _, err := Steady(p, nil, d, Options{}, nil); !fault.Is(err, "PROBLEM_MALFORMED") {
		t.Errorf("no plan: %v", err)
	}
	start, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if plan, err := Steady(p, start, d, Options{Cores: 1, Budget: func() float64 { return 1 }}, nil); err != nil || !reflect.DeepEqual(plan.Slots, start.Slots) {
		t.Errorf("no time, and another plan: %v", err)
	}
}
