package planner

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// later gives the floor as it is at a minute of a plan: what has begun is fixed.
func later(p *Problem, plan *Plan, now Minute) *Problem {
	q := *p
	q.Now, q.Fixed = now, nil
	for op, s := range plan.Slots {
		if s.Start < now {
			q.Fixed = append(q.Fixed, Fixed{op, s})
		}
	}
	return &q
}

// away takes a day out of somebody's calendar.
func away(p *Problem, worker int, from Minute) {
	c := Calendar{}
	for _, w := range p.Workers[worker].Calendar {
		if w.End <= from || w.Start >= from+1440 {
			c = append(c, w)
		}
	}
	p.Workers = slices.Clone(p.Workers)
	p.Workers[worker].Calendar = c
}

// Whoever is away for a day: what has begun stays, every constraint is kept, and where nobody is away
// nothing that begins soon is moved.
func TestReplan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		old, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		q := later(p, old, rapid.IntRange(0, 4000).Draw(t, "now"))
		absent := rapid.Bool().Draw(t, "somebody away")
		if absent {
			away(q, rapid.IntRange(0, len(q.Workers)-1).Draw(t, "who"), q.Now)
		}
		plan, err := Replan(q, old, Options{Seed: 1, Cores: 2, Iterations: 40}, nil)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, q, plan)
		if moved, of := Moved(q, old, plan, twoDays); !absent && moved > 0 {
			t.Fatalf("%d of %d are moved, and nothing happened", moved, of)
		}
	})
}

// Of forty pieces on three pairs of hands, one is away: less than half is moved of what a plan anew would move.
func TestReplan_MovesLittle(t *testing.T) {
	p := &Problem{Horizon: 60 * 1440, Workers: []Worker{{"a", shifts(60, 480)}, {"b", shifts(60, 480)}, {"c", shifts(60, 480)}}}
	for i := range 40 {
		p.Pieces = append(p.Pieces, Piece{Due: 1000 + 300*i, Weight: 1})
		for j := range 3 {
			p.Operations = append(p.Operations, Operation{Piece: i, Modes: []Mode{{Worker: (i + j) % 3, Minutes: 40 + 10*j}, {Worker: (i + j + 1) % 3, Minutes: 60}}})
			if n := len(p.Operations); j > 0 {
				p.Lags = append(p.Lags, Lag{n - 2, n - 1, 60, Forever})
			}
		}
	}
	old, err := Improve(p, nil, Options{Seed: 1, Cores: 1, Iterations: 300}, nil)
	if err != nil {
		t.Fatal(err)
	}
	q := later(p, old, 1440)
	away(q, 0, q.Now)
	plan, err := Replan(q, old, Options{Seed: 1, Cores: 1, Iterations: 100}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, q, plan)
	anew, err := Improve(q, nil, Options{Seed: 1, Cores: 1, Iterations: 100}, nil)
	if err != nil {
		t.Fatal(err)
	}
	moved, of := Moved(q, old, plan, twoDays)
	if others, _ := Moved(q, old, anew, twoDays); moved == 0 || 2*moved > others {
		t.Errorf("%d of %d are moved, and by a plan anew %d", moved, of, others)
	}
}

// A plan goes over to a later problem by ids; what is new there is put in.
func TestCarry(t *testing.T) {
	from := &Problem{Horizon: 10_000, Workers: []Worker{{ID: "gone"}, {ID: "a"}}, Stations: []Station{{ID: "booth", Capacity: 1}}, Pieces: []Piece{{"p", 0, NoDue, 1}},
		Operations: []Operation{{ID: "x", Modes: []Mode{{Worker: 0, Minutes: 10}}}, {ID: "y", Modes: []Mode{{Worker: 1, Minutes: 10}}, Stations: []int{0}, Demand: 1}}}
	plan := &Plan{Slots: []Slot{{0, NoStation, 100, 110}, {1, 0, 300, 310}}}
	to := &Problem{Horizon: 10_000, Workers: []Worker{{ID: "a"}}, Stations: []Station{{ID: "bench", Capacity: 1}, {ID: "booth", Capacity: 1}}, Pieces: []Piece{{"p", 0, NoDue, 1}},
		Operations: []Operation{{ID: "new", Modes: []Mode{{Worker: 0, Minutes: 10}}}, {ID: "y", Modes: []Mode{{Worker: 0, Minutes: 10}}, Stations: []int{1}, Demand: 1}, {ID: "x", Modes: []Mode{{Worker: 0, Minutes: 10}}}}}
	got := Carry(plan, from, to, 60)
	if want := []Slot{{}, {0, 1, 240, 250}, {}}; !reflect.DeepEqual(got.Slots, want) || len(got.Left) != 2 {
		t.Errorf("slots %v, left %v", got.Slots, got.Left)
	}
	again, err := Replan(to, got, Options{Cores: 1, Iterations: 20}, nil)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, to, again)
	if again.Slots[1] != got.Slots[1] {
		t.Errorf("what was kept is moved to %v", again.Slots[1])
	}
}
