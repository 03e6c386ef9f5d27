package planner

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
)

// cramped draws a floor of a few minutes on which little fits: short shifts, a station with hours, tight waits,
// pins, and something fixed.
func cramped(t *rapid.T) *Problem {
	bare := rapid.Bool().Draw(t, "bare") // of hours, and all in one booth, so that all else matters
	hours := func(label string) (c Calendar) {
		if bare || rapid.IntRange(0, 5).Draw(t, label+" always") == 0 {
			return nil
		}
		c = Calendar{}
		for at := rapid.IntRange(0, 3).Draw(t, label); at < 12; {
			end := at + rapid.IntRange(1, 4).Draw(t, label+" for")
			c = append(c, Window{at, end})
			at = end + rapid.IntRange(1, 5).Draw(t, label+" off")
		}
		return c
	}
	p := &Problem{Horizon: rapid.IntRange(6, 14).Draw(t, "horizon"), Now: rapid.IntRange(0, 2).Draw(t, "now"),
		Workers:  []Worker{{"a", hours("a")}, {"b", hours("b")}},
		Stations: []Station{{ID: "booth", Capacity: 1, Calendar: hours("booth")}, {ID: "bench", Capacity: 2}}}
	if rapid.Bool().Draw(t, "colours") {
		p.Stations[0].Changeover = [][]int{{0, 0, 0}, {0, 0, rapid.IntRange(0, 2).Draw(t, "to dark")}, {0, rapid.IntRange(0, 6).Draw(t, "to light"), 0}}
	}
	for i := range rapid.IntRange(1, 2).Draw(t, "pieces") {
		p.Pieces = append(p.Pieces, Piece{"p", rapid.SampledFrom([]int{0, 0, 4}).Draw(t, "release"), NoDue, 1})
		for j := range rapid.IntRange(1, 2).Draw(t, "operations") {
			o := Operation{Piece: i, Demand: 1, Colour: rapid.IntRange(0, 2).Draw(t, "colour"), Splittable: rapid.Bool().Draw(t, "splittable"), Earliest: rapid.SampledFrom([]int{0, 0, 0, 5, 9}).Draw(t, "earliest")}
			for _, w := range [][]int{{0}, {0, 1}, {1}, {NoWorker}, {}}[min(4, rapid.IntRange(0, 12).Draw(t, "who")/3)] {
				o.Modes = append(o.Modes, Mode{Worker: w, Minutes: rapid.IntRange(1, 5).Draw(t, "minutes")})
			}
			if o.Stations = [][]int{nil, {0}, {1}, {0, 1}}[rapid.IntRange(0, 3).Draw(t, "where")]; !bare && len(o.Modes) == 1 && o.Modes[0].Worker == 0 && rapid.IntRange(0, 4).Draw(t, "both") == 0 {
				o.With = []int{1}
			}
			if bare {
				o.Stations, o.Earliest = []int{0}, 0
			}
			p.Operations = append(p.Operations, o)
			if n := len(p.Operations); j > 0 {
				p.Lags = append(p.Lags, crampedLag(t, n-2, n-1))
			}
		}
	}
	if n := len(p.Operations); n > 2 && rapid.Bool().Draw(t, "joined") {
		p.Lags = append(p.Lags, crampedLag(t, 0, n-1), crampedLag(t, 0, 2))
	}
	if rapid.Bool().Draw(t, "fixed") && len(p.Operations) > 1 {
		start := rapid.IntRange(0, 6).Draw(t, "fixed at")
		p.Fixed = []Fixed{{0, Slot{rapid.IntRange(NoWorker, 1).Draw(t, "fixed who"), rapid.IntRange(NoStation, 1).Draw(t, "fixed where"), start, start + rapid.IntRange(1, 4).Draw(t, "fixed for")}}}
	}
	return p
}

func crampedLag(t *rapid.T, from, to int) Lag {
	l := Lag{from, to, rapid.IntRange(0, 3).Draw(t, "dries"), Forever}
	if rapid.IntRange(0, 2).Draw(t, "window") > 0 {
		l.Max = l.Min + rapid.IntRange(0, 3).Draw(t, "wide")
	}
	return l
}

// allConstraints lists whatever can be lifted of a floor.
func allConstraints(p *Problem) (all []Constraint) {
	for i := range p.Operations {
		all = append(all, Constraint{EarliestStart, i}, Constraint{NobodyAble, i}, Constraint{FixedWork, i})
	}
	for i := range p.Workers {
		all = append(all, Constraint{WorkerHours, i})
	}
	for i := range p.Stations {
		all = append(all, Constraint{StationHours, i}, Constraint{StationRoom, i}, Constraint{Cleaning, i})
	}
	for i := range p.Lags {
		all = append(all, Constraint{LongestWait, i})
	}
	for i := range p.Pieces {
		all = append(all, Constraint{ReleaseDate, i})
	}
	return append(all, Constraint{PlanHorizon, 0})
}

// together gives operations, what they wait for, and what longest waits tie to these, but what is fixed.
func together(p *Problem, ops ...int) []int {
	in, fixed := make([]bool, len(p.Operations)), make([]bool, len(p.Operations))
	for _, f := range p.Fixed {
		fixed[f.Operation] = true
	}
	for _, op := range ops {
		in[op] = true
	}
	for range p.Operations {
		for _, l := range p.Lags {
			if fixed[l.From] || fixed[l.To] {
				continue
			}
			in[l.From] = in[l.From] || in[l.To]
			in[l.To] = in[l.To] || (in[l.From] && l.Max != Forever)
		}
	}
	var all []int
	for i := range in {
		if in[i] {
			all = append(all, i)
		}
	}
	return all
}

// What is said to be in the way leaves no place, whatever else is lifted, and without any of it there is one; and
// it is said where there is none, and only there. All places are tried.
func TestExplain_SmallestByAllPlaces(t *testing.T) {
	found := map[ConstraintKind]int{}
	check := func(t *rapid.T) {
		p := cramped(t)
		op := rapid.IntRange(0, len(p.Operations)-1).Draw(t, "operation")
		if slices.ContainsFunc(p.Fixed, func(f Fixed) bool { return f.Operation == op }) {
			op = len(p.Operations) - 1
		}
		got, err := Explain(p, op)
		if err != nil {
			t.Fatal(err)
		}
		beside := slices.ContainsFunc(got, func(x Constraint) bool { return x.Kind == OtherWork })
		if possible := placeable(p, together(p, op), allConstraints(p)); possible != (len(got) == 0 || beside) {
			t.Fatalf("operation %d fits: %v, and in its way are %v", op, possible, got)
		}
		with := func(kept []Constraint) []int {
			ops := []int{op}
			for _, x := range kept {
				if x.Kind == OtherWork {
					ops = append(ops, x.Index)
				}
			}
			return together(p, ops...)
		}
		if len(got) > 0 && placeable(p, with(got), got) {
			t.Fatalf("%v are in the way of operation %d, and it fits with them", got, op)
		}
		for i, x := range got {
			found[x.Kind]++
			if rest := slices.Delete(slices.Clone(got), i, i+1); !placeable(p, with(rest), rest) {
				t.Fatalf("of %v, %v can be left out for operation %d", got, x, op)
			}
		}
	}
	for range 2 {
		rapid.Check(t, check)
	}
	for _, k := range []ConstraintKind{NobodyAble, WorkerHours, LongestWait, EarliestStart, FixedWork, OtherWork, PlanHorizon} { // the rest comes up too seldom
		if found[k] == 0 {
			t.Errorf("kind %d is in the way of nothing drawn", k)
		}
	}
}

// One kind after the other, by hand.
func TestExplain(t *testing.T) {
	day := func(windows ...Window) Calendar { return windows }
	floor := func() *Problem { // a coat and, within two hours of it, one more, in a booth
		return &Problem{Horizon: 3 * 1440, Workers: []Worker{{"Bea", day(Window{480, 600}, Window{1920, 2040})}, {"Ann", day(Window{480, 540})}},
			Stations: []Station{{ID: "booth", Capacity: 1, Calendar: day(Window{400, 2100})}}, Pieces: []Piece{{"stool", 0, NoDue, 1}, {"door", 0, NoDue, 1}},
			Operations: []Operation{{ID: "coat", Modes: []Mode{{Worker: 0, Minutes: 30}}, Stations: []int{0}, Demand: 1, Colour: 1}, {ID: "recoat", Modes: []Mode{{Worker: 0, Minutes: 30}}, Stations: []int{0}, Demand: 1},
				{ID: "other", Piece: 1, Modes: []Mode{{Worker: 1, Minutes: 30}}, Stations: []int{0}, Demand: 1}},
			Lags: []Lag{{0, 1, 60, 120}}}
	}
	for name, x := range map[string]struct {
		spoil func(p *Problem)
		want  []Constraint
	}{
		"it fits": {func(p *Problem) {}, nil},
		"only after five weeks away": {func(p *Problem) {
			p.Horizon, p.Workers[0].Calendar, p.Stations[0].Calendar = 50*1440, day(Window{36 * 1440, 36*1440 + 300}), nil
		}, nil},
		"two shifts too far apart":           {func(p *Problem) { p.Lags[0].Min, p.Lags[0].Max = 100, 1000 }, []Constraint{{WorkerHours, 0}, {LongestWait, 0}}},
		"longer than any shift":              {func(p *Problem) { p.Operations[0].Modes[0].Minutes = 130 }, []Constraint{{WorkerHours, 0}}},
		"longer than either's shift":         {func(p *Problem) { p.Operations[0].Modes = []Mode{{Worker: 0, Minutes: 130}, {Worker: 1, Minutes: 90}} }, []Constraint{{WorkerHours, 0}, {WorkerHours, 1}}},
		"pinned after the shifts":            {func(p *Problem) { p.Operations[1].Pinned, p.Operations[1].Earliest = true, 2020 }, []Constraint{{WorkerHours, 0}, {EarliestStart, 1}}},
		"the booth closed when she is in":    {func(p *Problem) { p.Stations[0].Calendar = day(Window{600, 900}, Window{2040, 2400}) }, []Constraint{{WorkerHours, 0}, {StationHours, 0}}},
		"the booth taken while she is in":    {func(p *Problem) { p.Fixed = []Fixed{{2, Slot{1, 0, 470, 2035}}} }, []Constraint{{WorkerHours, 0}, {FixedWork, 2}, {StationRoom, 0}}},
		"nobody":                             {func(p *Problem) { p.Operations[0].Modes = nil }, []Constraint{{NobodyAble, 0}}},
		"a window that runs, and she is out": {func(p *Problem) { p.Now, p.Fixed = 600, []Fixed{{0, Slot{0, 0, 520, 550}}} }, []Constraint{{WorkerHours, 0}, {LongestWait, 0}, {FixedWork, 0}}},
		"released after her last shift":      {func(p *Problem) { p.Pieces[0].Release = 2030 }, []Constraint{{WorkerHours, 0}, {ReleaseDate, 0}}},
		"beyond the horizon":                 {func(p *Problem) { p.Horizon, p.Workers[0].Calendar = 100, nil; p.Stations[0].Calendar = nil }, []Constraint{{PlanHorizon, 0}}},
		"another coat meanwhile, and cleaning": {func(p *Problem) {
			p.Stations[0].Changeover = EvenChangeover(2, 80)
			p.Operations[2].Colour, p.Operations[2].Modes = 2, []Mode{{Worker: 0, Minutes: 10}}
			p.Lags = []Lag{{0, 2, 0, 60}, {2, 1, 0, Forever}}
		}, []Constraint{{LongestWait, 0}, {Cleaning, 0}}},
		"another colour in the booth before": {func(p *Problem) {
			p.Stations[0].Changeover = EvenChangeover(2, 20)
			p.Operations[2].Colour, p.Fixed, p.Horizon = 2, []Fixed{{2, Slot{1, 0, 400, 475}}}, 700
		}, []Constraint{{WorkerHours, 0}, {FixedWork, 2}, {Cleaning, 0}, {PlanHorizon, 0}}},
		"two at once in a booth for one": {func(p *Problem) {
			p.Operations[0].Modes, p.Operations[1].Modes, p.Operations[2].Modes = []Mode{{NoWorker, 10, nil}}, []Mode{{NoWorker, 30, nil}}, []Mode{{NoWorker, 30, nil}}
			p.Lags = []Lag{{0, 1, 0, 10}, {0, 2, 0, 10}}
		}, []Constraint{{LongestWait, 0}, {LongestWait, 1}, {StationRoom, 0}}},
		"another coat that her hands are wanted for": {func(p *Problem) {
			p.Now, p.Fixed, p.Operations = 600, []Fixed{{0, Slot{0, 0, 520, 550}}, {2, Slot{1, 0, 510, 540}}}, append(p.Operations,
				Operation{ID: "recoat the other", Piece: 1, Modes: []Mode{{Worker: 0, Minutes: 100}}, Demand: 1})
			p.Stations[0].Calendar, p.Workers[0].Calendar = nil, append(p.Workers[0].Calendar, Window{3360, 3480})
			p.Lags = []Lag{{0, 1, 60, 1450}, {2, 3, 60, 1450}}
		}, []Constraint{{WorkerHours, 0}, {LongestWait, 0}, {LongestWait, 1}, {FixedWork, 0}, {FixedWork, 2}, {OtherWork, 3}}},
		"no wait that long in between": {func(p *Problem) {
			p.Operations = append(p.Operations, Operation{ID: "sand", Modes: []Mode{{Worker: 0, Minutes: 20}}})
			p.Lags = []Lag{{0, 1, 0, 120}, {0, 3, 60, Forever}, {3, 1, 60, Forever}}
		}, []Constraint{{LongestWait, 0}}},
	} {
		p := floor()
		x.spoil(p)
		if got, err := Explain(p, 1); err != nil || !slices.Equal(got, x.want) {
			t.Errorf("%s: %v, %v; want %v", name, got, err, x.want)
		}
	}
	if _, err := Explain(floor(), 7); !fault.Is(err, "PROBLEM_MALFORMED") {
		t.Errorf("of nothing: %v", err)
	}
}

// What Dispatch leaves out on a floor with little else to do is explained.
func TestExplain_WhatIsLeft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := cramped(t)
		plan, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		left := plan.leaves()
		for op := range p.Operations {
			got, err := Explain(p, op)
			if err != nil {
				t.Fatal(err)
			}
			ops := []int{op} // that cannot all have a place
			for _, x := range got {
				if x.Kind == OtherWork {
					ops = append(ops, x.Index)
				}
			}
			kept := !slices.ContainsFunc(plan.Missed, func(l int) bool { return slices.Contains(together(p, ops...), p.Lags[l].To) })
			out := slices.ContainsFunc(together(p, ops...), func(op int) bool { return left[op] })
			if len(got) > 0 && !out && kept && !slices.ContainsFunc(p.Fixed, func(f Fixed) bool { return f.Operation == op }) {
				t.Fatalf("%v have places, and in the way of the first are %v", ops, got)
			}
		}
	})
}
