package planner

import (
	"math/rand/v2"
	"slices"
	"testing"

	"tackfree/pkg/fault"
)

// twoColours is a booth for one, cleaned for half an hour before light after dark (1 after 2), and for ten minutes
// before dark.
func twoColours(p *Problem) {
	p.Stations[0].Changeover = [][]int{{0, 0, 0}, {0, 0, 10}, {0, 30, 0}}
}

// Four coats on four pieces at one pair of hands, two of each colour, each of 20 minutes and due at once: one
// changeover, from light to dark, is what the best plan has.
func TestImprove_CleansOnce(t *testing.T) {
	p := &Problem{Horizon: 1000, Workers: []Worker{{ID: "w"}}, Stations: []Station{{ID: "booth", Capacity: 1}}}
	twoColours(p)
	for i, colour := range []int{2, 1, 2, 1} {
		p.Pieces = append(p.Pieces, Piece{Weight: 1})
		p.Operations = append(p.Operations, Operation{Piece: i, Modes: []Mode{{Worker: 0, Minutes: 20}}, Stations: []int{0}, Demand: 1, Colour: colour})
	}
	plan, err := Improve(p, nil, Options{Seed: 1, Cores: 1, Iterations: 300}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, p, plan)
	if want := 20.0 + 40 + 70 + 90; plan.Objective.Tardiness != want || plan.Objective.Makespan != 90 {
		t.Errorf("%+v, want a tardiness of %v and an end at 90: %v", plan.Objective, want, plan.Slots)
	}
	bound, err := Bound(p)
	if err != nil || bound.Tardiness > plan.Objective.Tardiness {
		t.Errorf("bound %+v, %v", bound, err)
	}
}

// On floors with colours small enough to try every plan, none is better than what Improve gives.
func TestImprove_WithColoursAsGoodAsAllPlans(t *testing.T) {
	cleaned := 0
	for seed := range uint64(6) {
		d := &dice{*rand.NewPCG(seed, 9)}
		p := tiny(d)
		for len(p.Operations) > 3 {
			p = tiny(d)
		}
		for i := range p.Operations {
			p.Operations[i].Stations, p.Operations[i].Colour = []int{0}, d.below(3)
		}
		without, err := Improve(p, nil, Options{Seed: 1, Cores: 1, Iterations: 800, Aims: []Aim{Tardiness}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		twoColours(p)
		plan, err := Improve(p, nil, Options{Seed: 1, Cores: 1, Iterations: 800, Aims: []Aim{Tardiness}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, p, plan)
		if best := exhaustive(p); plan.Objective.Tardiness != best {
			t.Errorf("floor %d: %v, and the best of all plans is %v", seed, plan.Objective.Tardiness, best)
		}
		if plan.Objective.Tardiness > without.Objective.Tardiness {
			cleaned++
		}
	}
	if cleaned == 0 {
		t.Error("on no floor did cleaning matter")
	}
}

// A coat that begins late is cleaned after all the same, and what is fixed is cleaned after too.
func TestSimulate_Cleans(t *testing.T) {
	p := &Problem{Horizon: 10_000, Workers: []Worker{{ID: "a"}, {ID: "b"}}, Stations: []Station{{ID: "booth", Capacity: 1}}, Pieces: []Piece{{"p", 0, NoDue, 1}, {"q", 0, NoDue, 1}, {"r", 0, NoDue, 1}},
		Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 100}}, Stations: []int{0}, Demand: 1, Colour: 2}, {Piece: 1, Modes: []Mode{{Worker: 1, Minutes: 40}}, Stations: []int{0}, Demand: 1, Colour: 1},
			{Piece: 2, Modes: []Mode{{Worker: 1, Minutes: 40}}, Stations: []int{0}, Demand: 1}},
		Fixed: []Fixed{{0, Slot{0, 0, 0, 100}}}}
	twoColours(p)
	plan := &Plan{Slots: []Slot{{0, 0, 0, 100}, {1, 0, 130, 170}, {1, 0, 170, 210}}}
	sound(t, p, plan)
	o, err := Simulate(p, plan, Doubt{}, 1, 1)
	if err != nil || o[1].Middle != 170 || o[2].Middle != 210 {
		t.Fatalf("done at %d and %d, %v", o[1].Middle, o[2].Middle, err)
	}
	for seed := range uint64(5) { // the first takes otherwise than planned
		o, err := Simulate(p, plan, Doubt{Operations: []float64{0.5}}, 1, seed)
		if err != nil || o[1].Middle != max(o[0].Middle, 100)+70 && o[1].Middle != o[0].Middle+70 {
			t.Errorf("the dark coat is done at %d, the light one at %d, %v", o[0].Middle, o[1].Middle, err)
		}
	}
	first, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, p, first)
}

func TestCheck_Changeover(t *testing.T) {
	good := func() *Problem {
		p := &Problem{Horizon: 1000, Workers: []Worker{{ID: "w"}}, Stations: []Station{{ID: "booth", Capacity: 1}, {ID: "rack", Capacity: 4}}, Pieces: []Piece{{Weight: 1}},
			Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 20}}, Stations: []int{0}, Demand: 1, Colour: 2}}}
		twoColours(p)
		return p
	}
	if _, err := Dispatch(good()); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*Problem){
		"holds several":     func(p *Problem) { p.Stations[1].Changeover = EvenChangeover(2, 30) },
		"not square":        func(p *Problem) { p.Stations[0].Changeover[1] = []int{0, 0} },
		"nothing":           func(p *Problem) { p.Stations[0].Changeover = [][]int{} },
		"less than no time": func(p *Problem) { p.Stations[0].Changeover[1][2] = -1 },
		"from no colour":    func(p *Problem) { p.Stations[0].Changeover[0][1] = 5 },
		"to no colour":      func(p *Problem) { p.Stations[0].Changeover[1][0] = 5 },
		"unknown colour":    func(p *Problem) { p.Operations[0].Colour = 3 },
		"no colour":         func(p *Problem) { p.Operations[0].Colour = -1 },
		"fixed, of a strange": func(p *Problem) {
			p.Operations[0].Stations, p.Operations[0].Colour, p.Fixed = nil, 7, []Fixed{{0, Slot{0, 0, 0, 20}}}
		},
	} {
		p := good()
		spoil(p)
		if _, err := Dispatch(p); !fault.Is(err, "PROBLEM_MALFORMED") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestEvenChangeover(t *testing.T) {
	got, want := EvenChangeover(2, 30), [][]int{{0, 0, 0}, {0, 0, 30}, {0, 30, 0}}
	if !slices.EqualFunc(got, want, slices.Equal[[]int]) {
		t.Errorf("EvenChangeover(2, 30) = %v, want %v", got, want)
	}
}
