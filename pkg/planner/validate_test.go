package planner

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
)

// What the dispatcher makes is accepted; of a plan in which something is elsewhere, whatever the minute-by-minute
// checker of the tests calls broken is refused.
func TestValidate_AsTheChecker(t *testing.T) {
	refused := 0
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		plan, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := Validate(p, plan); err != nil {
			t.Fatalf("a plan of the dispatcher: %v", err)
		}
		s := &plan.Slots[rapid.IntRange(0, len(plan.Slots)-1).Draw(t, "op")]
		by := rapid.SampledFrom([]int{-300, -30, -1, 1, 7, 120, 900}).Draw(t, "by")
		switch rapid.IntRange(0, 3).Draw(t, "what") {
		case 0:
			s.Start, s.End = max(0, s.Start+by), max(0, s.End+by)
		case 1:
			s.End = max(s.Start, s.End+by)
		case 2:
			s.Worker = rapid.IntRange(-1, len(p.Workers)-1).Draw(t, "worker")
		case 3:
			s.Station = rapid.IntRange(0, 1).Draw(t, "station")
		}
		err = Validate(p, plan)
		if b := broken(p, plan); len(b) > 0 && !fault.Is(err, "PLAN_BROKEN") {
			t.Fatalf("accepted, and %s", b[0])
		}
		if err != nil {
			refused++
		}
	})
	if refused < 30 {
		t.Errorf("only %d plans are broken: nothing is tried here", refused)
	}
}

// Each rule refuses by itself.
func TestValidate_Refuses(t *testing.T) {
	p := &Problem{Now: 10, Horizon: 3000, Workers: []Worker{{"w", shifts(3, 480)}, {"v", nil}},
		Stations: []Station{{ID: "booth", Capacity: 1, Calendar: Calendar{{400, 1100}, {1900, 2500}}, Changeover: [][]int{{0, 0, 0}, {0, 0, 65}, {0, 0, 0}}}, {ID: "bench", Capacity: 2}},
		Pieces:   []Piece{{"p", 5, NoDue, 1}, {"q", 0, NoDue, 1}}, Lags: []Lag{{0, 1, 60, 120}, {2, 3, 0, Forever}},
		Operations: []Operation{{ID: "a", Modes: []Mode{{Worker: 0, Minutes: 30}, {Worker: 1, Minutes: 30, Stations: []int{1}}}, Stations: []int{0, 1}, Demand: 1, Colour: 1},
			{ID: "b", Modes: []Mode{{Worker: 0, Minutes: 30}, {Worker: 1, Minutes: 30}}, Stations: []int{0, 1}, Demand: 1, Colour: 2},
			{ID: "soak", Piece: 1, Modes: []Mode{{Worker: NoWorker, Minutes: 300}}, Stations: []int{0}, Demand: 1},
			{ID: "c", Piece: 1, Modes: []Mode{{Worker: 1, Minutes: 20}}, Splittable: true, With: []int{0}, Earliest: 60},
			{ID: "d", Piece: 1, Modes: []Mode{{Worker: 1, Minutes: 5}}, Stations: []int{1}, Demand: 2}},
		Fixed: []Fixed{{4, Slot{1, 1, 0, 5}}}}
	good := []Slot{{0, 0, 480, 510}, {0, 0, 580, 610}, {NoWorker, 0, 1000, 1300}, {1, NoStation, 1920, 1940}, {1, 1, 0, 5}}
	if err := Validate(p, &Plan{Slots: good}); err != nil {
		t.Fatalf("a good plan: %v", err)
	}
	for name, x := range map[string]struct {
		op  int
		bad Slot
	}{
		"fixed was moved":            {4, Slot{1, 1, 5, 10}},
		"too soon":                   {0, Slot{1, 1, 9, 39}},
		"after the horizon":          {3, Slot{1, NoStation, 2990, 3010}},
		"no mode of the worker's":    {2, Slot{0, 0, 1000, 1300}},
		"no station":                 {0, Slot{0, NoStation, 480, 510}},
		"not the mode's station":     {0, Slot{1, 0, 480, 510}},
		"too short":                  {0, Slot{0, 0, 480, 505}},
		"pauses":                     {1, Slot{0, 0, 570, 630}},
		"before the shift":           {0, Slot{0, 0, 470, 500}},
		"soaks too short":            {2, Slot{NoWorker, 0, 1000, 1200}},
		"begins at a closed station": {2, Slot{NoWorker, 0, 1100, 1400}},
		"help is not there":          {3, Slot{1, NoStation, 1500, 1520}},
		"help begins in the pause":   {3, Slot{1, NoStation, 1910, 1940}},
		"hands at once":              {1, Slot{0, 1, 500, 530}},
		"help at once":               {3, Slot{1, NoStation, 590, 610}},
		"station overfull":           {2, Slot{NoWorker, 0, 490, 790}},
		"not cleaned":                {1, Slot{0, 0, 574, 604}},
		"not dry":                    {1, Slot{0, 1, 569, 599}},
		"window closed":              {1, Slot{0, 1, 631, 661}},
		"before what it waits for":   {3, Slot{1, NoStation, 620, 640}},
	} {
		slots := slices.Clone(good)
		slots[x.op] = x.bad
		if err := Validate(p, &Plan{Slots: slots}); !fault.Is(err, "PLAN_BROKEN") {
			t.Errorf("%s: %v", name, err)
		}
	}
	slots := slices.Clone(good)
	slots[1] = Slot{0, 1, 631, 661}
	if err := Validate(p, &Plan{Slots: slots, Missed: []int{0}}); err != nil {
		t.Errorf("a window that is said to be missed: %v", err)
	}
	slots[0] = Slot{}
	if err := Validate(p, &Plan{Slots: slots, Left: []Unplaced{{0, NobodyCan}}}); err != nil {
		t.Errorf("what is left out: %v", err)
	}
	if err := Validate(p, &Plan{}); !fault.Is(err, "PLAN_BROKEN") {
		t.Errorf("a plan of nothing: %v", err)
	}
}
