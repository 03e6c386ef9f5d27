package planner

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// longestWork is what an operation becomes at most that takes longer than planned: more fits into no shift of aFloor.
const longestWork = 200

// happens changes a floor as things do: somebody is away, something takes longer or dries longer, a piece comes, an
// inspection fails and two operations are done again. It tells the plan that people know, for the floor as it is then.
func happens(d *dice, p *Problem, plan *Plan, what int) *Plan {
	p.Operations, p.Lags, p.Pieces = slices.Clone(p.Operations), slices.Clone(p.Lags), slices.Clone(p.Pieces)
	known := &Plan{Slots: slices.Clone(plan.Slots)}
	open := d.below(len(p.Operations))
	for i := 0; i < len(p.Operations) && plan.Slots[open].Start < p.Now; i++ {
		open = (open + 1) % len(p.Operations)
	}
	add := func(o Operation, after int) {
		p.Operations = append(p.Operations, o)
		known.Slots = append(known.Slots, Slot{})
		known.Left = append(known.Left, Unplaced{len(p.Operations) - 1, AfterHorizon})
		if after >= 0 {
			p.Lags = append(p.Lags, Lag{after, len(p.Operations) - 1, 60, Forever})
		}
	}
	switch what {
	case 0:
		away(p, d.below(len(p.Workers)), p.Now)
	case 1:
		o := &p.Operations[open]
		o.Modes = slices.Clone(o.Modes)
		for i := range o.Modes {
			o.Modes[i].Minutes = max(o.Modes[i].Minutes, min(longestWork, o.Modes[i].Minutes*3/2))
		}
	case 2:
		for i := range p.Lags {
			if l := &p.Lags[i]; l.Max == Forever && d.once(4) {
				l.Min += 720
			}
		}
	case 3:
		p.Pieces = append(p.Pieces, Piece{"rush", p.Now, p.Now + 600, 8})
		for range 3 {
			o := Operation{ID: "rush", Piece: len(p.Pieces) - 1, Modes: []Mode{{Worker: 0, Minutes: 50}}}
			after := len(p.Operations) - 1
			if o.Piece != p.Operations[after].Piece {
				after = -1
			}
			add(o, after)
		}
	default:
		again := p.Operations[open]
		again.Pinned, again.Earliest = false, 0
		add(again, open)
		add(again, len(p.Operations)-1)
	}
	return known
}

// Whatever happens, the plan keeps every constraint, nothing that has begun moves, and the same seed gives the same.
func TestReplan_WhateverHappens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		old, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		q := later(p, old, rapid.IntRange(0, 4000).Draw(t, "now"))
		known := happens(&dice{*rand.NewPCG(rapid.Uint64().Draw(t, "chance"), 1)}, q, old, rapid.IntRange(0, 4).Draw(t, "what"))
		o := Options{Seed: 1, Cores: 2, Iterations: 60}
		plan, err := Replan(q, known, o, func(i Improvement) {
			if err := Validate(q, i.Plan); err != nil {
				t.Fatalf("on the way: %v", err)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		sound(t, q, plan)
		if err := Validate(q, plan); err != nil {
			t.Fatal(err)
		}
		if again, err := Replan(q, known, o, nil); err != nil || !reflect.DeepEqual(plan, again) {
			t.Fatalf("the same seed gives another plan, or %v", err)
		}
	})
}

// A coat has to go on within an hour, the one of two who can spray and was to do it is away, and the other is busy: what
// the other does makes way, and nothing else moves.
func TestReplan_OpenWindowFirst(t *testing.T) {
	p := &Problem{Now: 600, Horizon: 10 * 1440, Workers: []Worker{{"Ana", Calendar{{2000, 3000}}}, {"Ben", Calendar{{480, 990}, {1920, 2430}}}},
		Pieces: []Piece{{"coated", 0, 5000, 1}, {"sanded", 0, 700, 8}, {"waxed", 0, 900, 8}},
		Operations: []Operation{{ID: "seal", Modes: []Mode{{Worker: 0, Minutes: 20}}}, {ID: "coat", Modes: []Mode{{Worker: 0, Minutes: 30}, {Worker: 1, Minutes: 40}}},
			{ID: "sand", Piece: 1, Modes: []Mode{{Worker: 1, Minutes: 100}}}, {ID: "wax", Piece: 2, Modes: []Mode{{Worker: 1, Minutes: 200}}}},
		Lags: []Lag{{0, 1, 30, 60}}, Fixed: []Fixed{{0, Slot{0, NoStation, 570, 590}}}}
	known := &Plan{Slots: []Slot{{0, NoStation, 570, 590}, {0, NoStation, 620, 650}, {1, NoStation, 600, 700}, {1, NoStation, 700, 900}}}
	plan, err := Replan(p, known, Options{Seed: 1, Cores: 1, Iterations: 100}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, p, plan)
	if coat := plan.Slots[1]; len(plan.Missed) > 0 || coat.Worker != 1 || coat.Start > 650 {
		t.Errorf("the coat goes on at %+v, missed %v", coat, plan.Missed)
	}
	if moved, _ := Moved(p, known, plan, twoDays); moved != 2 || plan.Slots[3] != known.Slots[3] {
		t.Errorf("%d are moved, the wax to %+v; the coat and the sanding are enough", moved, plan.Slots[3])
	}
}

// workshop makes a floor of so many pieces for ten people of one to three skills each, two booths and a bench: about
// twelve operations a piece, in two branches that meet, with drying and recoat windows.
func workshop(pieces int, seed uint64) *Problem {
	d := &dice{*rand.NewPCG(seed, 9)}
	p := &Problem{Horizon: 150 * 1440, Stations: []Station{{ID: "booth", Capacity: 2}, {ID: "bench", Capacity: 7}}}
	can := make([][]int, 5)
	for w := range 10 {
		p.Workers = append(p.Workers, Worker{fmt.Sprint("w", w), shifts(150, 450+30*d.below(3))})
		can[w%5] = append(can[w%5], w)
		if skill := d.below(5); skill != w%5 {
			can[skill] = append(can[skill], w)
		}
	}
	operation := func(piece, skill, after, min, max int) int {
		minutes := 10 + 5*d.below(25)
		o := Operation{ID: fmt.Sprint(piece, ".", len(p.Operations)), Piece: piece, Stations: []int{1}, Demand: 1, Splittable: skill < 2}
		if skill == 4 {
			o.Stations = []int{0}
		}
		for _, w := range can[skill] {
			o.Modes = append(o.Modes, Mode{Worker: w, Minutes: minutes * (4 + (w+piece)%3) / 5})
		}
		p.Operations = append(p.Operations, o)
		if after >= 0 {
			p.Lags = append(p.Lags, Lag{after, len(p.Operations) - 1, min, max})
		}
		return len(p.Operations) - 1
	}
	for i := range pieces {
		p.Pieces = append(p.Pieces, Piece{fmt.Sprint("p", i), 0, 3000 + 1440*d.below(60), float64(int(1) << d.below(4))})
		first := operation(i, 0, -1, 0, 0)
		strip := operation(i, 1, first, 0, Forever)
		sand := operation(i, 1, strip, 720, Forever)
		glue := operation(i, 2, operation(i, 2, first, 0, Forever), 240, Forever)
		seal := operation(i, 4, sand, 0, Forever)
		coat := operation(i, 4, operation(i, 3, seal, 60, 2880), 0, Forever)
		last := operation(i, 3, coat, 120, 4320)
		p.Lags = append(p.Lags, Lag{glue, last, 0, Forever})
		operation(i, 0, last, 0, Forever)
	}
	return p
}

// On a floor of two hundred pieces where hands are taken nearly all the time, one person is away for a day: beside their own
// work little moves, and no window is missed.
func TestReplan_LargeFloor(t *testing.T) {
	p := workshop(200, 1)
	old, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	moved, forced, all := 0, 0, 0
	for worker := 0; worker < 10; worker += 3 {
		q := later(p, old, 5*1440+420)
		away(q, worker, q.Now)
		for _, s := range old.Slots {
			if s.Worker == worker && s.Start >= q.Now && s.Start < q.Now+1440 {
				forced++
			}
		}
		plan, err := Replan(q, old, Options{Seed: 1, Cores: 2, Iterations: 600}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := Validate(q, plan); err != nil || len(plan.Left)+len(plan.Missed) > 0 {
			t.Errorf("with worker %d away, %d operations are left out and %d windows missed; %v", worker, len(plan.Left), len(plan.Missed), err)
		}
		m, of := Moved(q, old, plan, twoDays)
		moved, all = moved+m, all+of
	}
	share, own := 100*float64(moved)/float64(all), 100*float64(forced)/float64(all)
	t.Logf("%.1f %% of what begins in two days is moved, %.1f %% is their own", share, own)
	if share > own+6 {
		t.Errorf("%.1f %% is moved, %.1f %% is their own work", share, own)
	}
}
