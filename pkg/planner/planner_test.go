package planner

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
)

func TestCalendar_Fit(t *testing.T) {
	c := Calendar{{100, 200}, {250, 300}, {500, 600}}
	for _, tt := range []struct {
		at, minutes int
		splittable  bool
		want        Window
		ok          bool
	}{
		{0, 50, false, Window{100, 150}, true},
		{180, 50, false, Window{250, 300}, true},
		{180, 50, true, Window{180, 280}, true},
		{180, 100, true, Window{180, 530}, true},
		{180, 70, true, Window{180, 300}, true}, // ends as a window does
		{280, 60, false, Window{500, 560}, true},
		{550, 60, false, Window{}, false},
		{550, 60, true, Window{}, false},
		{600, 1, true, Window{}, false},
	} {
		got, ok := c.fit(tt.at, tt.minutes, tt.splittable)
		if ok != tt.ok || (ok && got != tt.want) {
			t.Errorf("fit(%d, %d, %v) = %v, %v; want %v, %v", tt.at, tt.minutes, tt.splittable, got, ok, tt.want, tt.ok)
		}
	}
	if got, ok := Calendar(nil).fit(7, 5, false); !ok || got != (Window{7, 12}) {
		t.Errorf("always open: %v, %v", got, ok)
	}
}

// ft06 is an instance of Fisher and Thompson (Industrial Scheduling, 1963): six jobs on six machines.
func ft06() *Problem {
	jobs := [6][6][2]int{
		{{2, 1}, {0, 3}, {1, 6}, {3, 7}, {5, 3}, {4, 6}}, {{1, 8}, {2, 5}, {4, 10}, {5, 10}, {0, 10}, {3, 4}},
		{{2, 5}, {3, 4}, {5, 8}, {0, 9}, {1, 1}, {4, 7}}, {{1, 5}, {0, 5}, {2, 5}, {3, 3}, {4, 8}, {5, 9}},
		{{2, 9}, {1, 3}, {4, 5}, {5, 4}, {0, 3}, {3, 1}}, {{1, 3}, {3, 3}, {5, 9}, {0, 10}, {4, 4}, {2, 1}},
	}
	p := &Problem{Horizon: 1000}
	for range 6 {
		p.Workers = append(p.Workers, Worker{})
	}
	for j, job := range jobs {
		p.Pieces = append(p.Pieces, Piece{Due: 55, Weight: 1})
		for k, o := range job {
			p.Operations = append(p.Operations, Operation{Piece: j, Modes: []Mode{{Worker: o[0], Minutes: o[1]}}})
			if n := len(p.Operations); k > 0 {
				p.Lags = append(p.Lags, Lag{n - 2, n - 1, 0, Forever})
			}
		}
	}
	return p
}

// The shortest makespan of ft06 is 55. No plan can be shorter; this one is within a third of it, as priority rules are.
func TestDispatch_FisherAndThompson(t *testing.T) {
	p := ft06()
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if b := broken(p, plan); len(b) > 0 {
		t.Fatal(b)
	}
	if m := plan.Objective.Makespan; m < 55 || m > 73 {
		t.Errorf("makespan %d; the shortest is 55", m)
	}
}

// On one pair of hands with nothing else in the way, whoever is due first comes first: no order has a
// smaller greatest lateness (Jackson, 1955).
func TestDispatch_DueFirst(t *testing.T) {
	p := &Problem{Horizon: 100_000, Workers: []Worker{{}}}
	for _, due := range []int{600, 200, 400} {
		p.Pieces = append(p.Pieces, Piece{Due: due, Weight: 1})
		p.Operations = append(p.Operations, Operation{Piece: len(p.Pieces) - 1, Modes: []Mode{{Worker: 0, Minutes: 200}}})
	}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if got := []Minute{plan.Slots[0].Start, plan.Slots[1].Start, plan.Slots[2].Start}; !slices.Equal(got, []Minute{400, 0, 200}) {
		t.Errorf("begin at %v", got)
	}
}

// A coat that must be followed before its window closes waits until both fit before the night.
func TestDispatch_RecoatWindow(t *testing.T) {
	p := &Problem{Horizon: 10 * 1440, Workers: []Worker{{"w", shifts(9, 480)}}, Pieces: []Piece{{"p", 0, NoDue, 1}, {"q", 0, 600, 5}},
		Operations: []Operation{{ID: "coat", Modes: []Mode{{Worker: 0, Minutes: 60}}}, {ID: "recoat", Modes: []Mode{{Worker: 0, Minutes: 60}}}, {ID: "long", Piece: 1, Modes: []Mode{{Worker: 0, Minutes: 230}}}},
		Lags:       []Lag{{0, 1, 120, 300}}}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if b := broken(p, plan); len(b) > 0 {
		t.Fatal(b)
	}
	// A window that closed while nobody was there is told, and the work still planned.
	p.Now, p.Fixed = 1000, []Fixed{{0, Slot{0, NoStation, 480, 540}}}
	plan, err = Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(plan.Missed, []int{0}) || len(plan.Left) > 0 || plan.Slots[1].Start != 1440+480 {
		t.Errorf("missed %v, left %v, recoat at %d", plan.Missed, plan.Left, plan.Slots[1].Start)
	}
}

// What is pinned gets its time, though something else is more urgent, and so does what it waits for.
func TestDispatch_Pinned(t *testing.T) {
	p := &Problem{Horizon: 10 * 1440, Workers: []Worker{{"w", shifts(9, 480)}}, Pieces: []Piece{{"p", 0, NoDue, 1}, {"q", 0, 600, 5}},
		Operations: []Operation{{ID: "sand", Modes: []Mode{{Worker: 0, Minutes: 60}}}, {ID: "coat", Modes: []Mode{{Worker: 0, Minutes: 60}}, Pinned: true, Earliest: 560},
			{ID: "rush", Piece: 1, Modes: []Mode{{Worker: 0, Minutes: 100}}}},
		Lags: []Lag{{0, 1, 0, Forever}}}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Slots[0].Start != 480 || plan.Slots[1].Start != 560 || plan.Slots[2].Start != 620 {
		t.Errorf("begin at %d, %d and %d", plan.Slots[0].Start, plan.Slots[1].Start, plan.Slots[2].Start)
	}
}

// Two at one thing are there from its start to its end; nobody is asked to be at two.
func TestDispatch_Together(t *testing.T) {
	p := &Problem{Horizon: 10 * 1440, Workers: []Worker{{"early", Calendar{{400, 700}}}, {"late", Calendar{{500, 900}}}}, Pieces: []Piece{{"p", 0, NoDue, 1}, {"q", 0, 100, 1}},
		Operations: []Operation{{ID: "carry", Modes: []Mode{{Worker: 0, Minutes: 50}}, With: []int{1}}, {ID: "rush", Piece: 1, Modes: []Mode{{Worker: 1, Minutes: 60}}}}}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Slots[1].Start != 500 || plan.Slots[0].Start != 560 {
		t.Errorf("begin at %d and %d", plan.Slots[0].Start, plan.Slots[1].Start)
	}
	o, err := Simulate(p, plan, Doubt{}, 1, 1)
	if err != nil || o[0].Middle != 610 {
		t.Errorf("played until %d, %v", o[0].Middle, err)
	}
}

func TestDispatch_SaysWhatDoesNotFit(t *testing.T) {
	p := &Problem{Horizon: 1440, Workers: []Worker{{"w", Calendar{{480, 600}}}}, Pieces: []Piece{{"p", 0, NoDue, 1}},
		Operations: []Operation{{ID: "long", Modes: []Mode{{Worker: 0, Minutes: 200}}}, {ID: "after"}, {ID: "short", Modes: []Mode{{Worker: 0, Minutes: 100}}}, {ID: "second", Modes: []Mode{{Worker: 0, Minutes: 100}}}},
		Lags:       []Lag{{0, 1, 0, Forever}}}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	why := map[int]Why{}
	for _, u := range plan.Left {
		why[u.Operation] = u.Why
	}
	if want := map[int]Why{0: NobodyCan, 1: BeforeIt, 3: AfterHorizon}; !reflect.DeepEqual(why, want) {
		t.Errorf("left %v, want %v", why, want)
	}
}

// A station that does not open before the horizon is closed to somebody who is always there, too.
func TestDispatch_StationNeverOpen(t *testing.T) {
	p := &Problem{Horizon: 600, Workers: []Worker{{ID: "w"}}, Stations: []Station{{ID: "booth", Capacity: 1, Calendar: Calendar{{700, 900}}}}, Pieces: []Piece{{"p", 0, NoDue, 1}},
		Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 30}}, Stations: []int{0}, Demand: 1}}}
	plan, err := Dispatch(p)
	if err != nil || len(plan.Left) != 1 {
		t.Errorf("%+v, %v", plan, err)
	}
}

// A horizon that cuts a shift short within a slot leaves the rest of the floor as it is.
func TestDispatch_HorizonWithinASlot(t *testing.T) {
	p := &Problem{Horizon: 1003, Workers: []Worker{{"w", Calendar{{480, 600}, {1000, 1200}}}}, Pieces: []Piece{{"p", 0, NoDue, 1}}, Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 120}}}}}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, p, plan)
}

func TestDispatch_Refuses(t *testing.T) {
	good := func() *Problem {
		return &Problem{Horizon: 100, Workers: []Worker{{}}, Stations: []Station{{Capacity: 1}}, Pieces: []Piece{{Weight: 1}},
			Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: 1}}}, {Modes: []Mode{{Worker: 0, Minutes: 1}}}}, Lags: []Lag{{0, 1, 0, Forever}}}
	}
	if _, err := Dispatch(good()); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*Problem){
		"circle":        func(p *Problem) { p.Lags = append(p.Lags, Lag{1, 0, 0, Forever}) },
		"no weight":     func(p *Problem) { p.Pieces[0].Weight = 0 },
		"no worker":     func(p *Problem) { p.Operations[0].Modes[0].Worker = 7 },
		"no piece":      func(p *Problem) { p.Operations[0].Piece = 7 },
		"calendar":      func(p *Problem) { p.Workers[0].Calendar = Calendar{{5, 5}} },
		"station":       func(p *Problem) { p.Stations[0].Capacity = 0 },
		"too much":      func(p *Problem) { p.Operations[0].Stations, p.Operations[0].Demand = []int{0}, 2 },
		"nobody beside": func(p *Problem) { p.Operations[0].With = []int{7} },
		"beside self":   func(p *Problem) { p.Operations[0].With = []int{0} },
		"not its own":   func(p *Problem) { p.Operations[0].Modes[0].Stations = []int{0} },
		"lag":           func(p *Problem) { p.Lags[0].Max = -5 },
		"fixed nobody":  func(p *Problem) { p.Fixed = []Fixed{{0, Slot{9, 0, 0, 1}}} },
	} {
		p := good()
		spoil(p)
		if _, err := Dispatch(p); !fault.Is(err, "PROBLEM_MALFORMED") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Without doubt nothing happens otherwise than planned, or it happens sooner.
func TestSimulate_WithoutDoubt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		plan, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		outlooks, err := Simulate(p, plan, Doubt{}, 2, 1)
		if err != nil {
			t.Fatal(err)
		}
		ends := make([]Minute, len(p.Pieces))
		for i, s := range plan.Slots {
			ends[p.Operations[i].Piece] = max(ends[p.Operations[i].Piece], s.End)
		}
		for i, o := range outlooks {
			if o.Middle > ends[i] || o.Early != o.End {
				t.Fatalf("piece %d is done at %d to %d and was planned for %d", i, o.Early, o.End, ends[i])
			}
		}
	})
}

// One operation of log-normal length: its chance is the distribution function, Φ((ln d − μ)/σ)
// (NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.6.9).
func TestSimulate_OneLogNormal(t *testing.T) {
	const mean, sigma, due = 100, 0.5, 120
	p := &Problem{Horizon: 1 << 30, Workers: []Worker{{}}, Pieces: []Piece{{Due: due, Weight: 1}}, Operations: []Operation{{Modes: []Mode{{Worker: 0, Minutes: mean}}}}}
	plan, err := Dispatch(p)
	if err != nil {
		t.Fatal(err)
	}
	const runs = 20_000
	o, err := Simulate(p, plan, Doubt{Operations: []float64{sigma}}, runs, 7)
	if err != nil {
		t.Fatal(err)
	}
	mu := math.Log(mean) - sigma*sigma/2
	want := 0.5 * math.Erfc(-(math.Log(due+0.5)-mu)/sigma/math.Sqrt2)
	if deviation := 4 * math.Sqrt(want*(1-want)/runs); math.Abs(o[0].Kept-want) > deviation {
		t.Errorf("kept %.4f, want %.4f ± %.4f", o[0].Kept, want, deviation)
	}
	again, err := Simulate(p, plan, Doubt{Operations: []float64{sigma}}, runs, 7)
	if err != nil || !reflect.DeepEqual(o, again) {
		t.Errorf("the same seed gives %v and %v (%v)", o, again, err)
	}
	if other, _ := Simulate(p, plan, Doubt{Operations: []float64{sigma}}, runs, 8); reflect.DeepEqual(o, other) {
		t.Error("another seed gives the same")
	}
}
