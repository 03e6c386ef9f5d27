package planner

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// shifts are of eight hours with half an hour's break.
func shifts(days int, start Minute) (c Calendar) {
	for d := range days {
		morning := d*1440 + start
		c = append(c, Window{morning, morning + 240}, Window{morning + 270, morning + 510})
	}
	return c
}

// broken lists what a plan does against its problem. It shares nothing with the code that makes plans: it
// looks at each minute of each slot.
func broken(p *Problem, plan *Plan) (all []string) {
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	left, fixed, missed := map[int]bool{}, map[int]Slot{}, map[int]bool{}
	for _, u := range plan.Left {
		left[u.Operation] = true
	}
	for _, f := range p.Fixed {
		fixed[f.Operation] = f.Slot
	}
	for _, l := range plan.Missed {
		missed[l] = true
	}
	hands, units := map[[2]int]int{}, map[[2]int]int{}
	open := func(c Calendar, t Minute) bool {
		if c == nil {
			return true
		}
		for _, w := range c {
			if t >= w.Start && t < w.End {
				return true
			}
		}
		return false
	}
	for i, s := range plan.Slots {
		if left[i] {
			continue
		}
		o := p.Operations[i]
		for t := s.Start; t < s.End; t++ {
			for _, w := range append([]int{s.Worker}, o.With...) {
				if hands[[2]int{w, t}]++; w != NoWorker && hands[[2]int{w, t}] > 1 {
					say("worker %d has two things to do at %d", w, t)
				}
			}
			if s.Station != NoStation {
				if units[[2]int{s.Station, t}] += o.Demand; units[[2]int{s.Station, t}] > p.Stations[s.Station].Capacity {
					say("station %d is overfull at %d", s.Station, t)
				}
			}
		}
		if f, ok := fixed[i]; ok {
			if f != s {
				say("operation %d was moved", i)
			}
			continue
		}
		if s.Start < p.Now || s.Start < p.Pieces[o.Piece].Release || s.Start < o.Earliest || s.End > p.Horizon {
			say("operation %d begins too soon or ends too late", i)
		}
		minutes := -1
		for _, m := range o.Modes {
			if m.Worker == s.Worker {
				minutes = m.Minutes
				if m.Stations != nil && !slices.Contains(m.Stations, s.Station) {
					say("worker %d may not use station %d", s.Worker, s.Station)
				}
			}
		}
		worked, whole := 0, true
		for t := s.Start; t < s.End; t++ {
			there := s.Worker == NoWorker || (open(p.Workers[s.Worker].Calendar, t) && (s.Station == NoStation || open(p.Stations[s.Station].Calendar, t)))
			for _, w := range o.With {
				there = there && open(p.Workers[w].Calendar, t)
			}
			if there {
				worked++
			} else {
				whole = false
			}
		}
		if worked != minutes {
			say("operation %d takes %d minutes and not %d", i, worked, minutes)
		}
		if !whole && !o.Splittable {
			say("operation %d pauses", i)
		}
		if s.Worker == NoWorker && s.Station != NoStation && !open(p.Stations[s.Station].Calendar, s.Start) {
			say("operation %d begins at a closed station", i)
		}
	}
	for i, s := range plan.Slots {
		for j, x := range plan.Slots[:i] {
			_, was := fixed[i]
			_, too := fixed[j]
			if left[i] || left[j] || was && too || s.Station == NoStation || s.Station != x.Station || p.Stations[s.Station].Changeover == nil || s.Start == s.End || x.Start == x.End {
				continue
			}
			over, a, b := p.Stations[s.Station].Changeover, p.Operations[i].Colour, p.Operations[j].Colour
			if s.Start-x.End < over[b][a] && x.Start-s.End < over[a][b] {
				say("station %d is not cleaned between operations %d and %d", s.Station, j, i)
			}
		}
	}
	for i, l := range p.Lags {
		if left[l.From] || left[l.To] {
			continue
		}
		_, both := fixed[l.To]
		gap := plan.Slots[l.To].Start - plan.Slots[l.From].End
		if !both && gap < l.Min {
			say("lag %d is %d and not %d at least", i, gap, l.Min)
		}
		if l.Max != Forever && gap > l.Max && !missed[i] {
			say("lag %d is %d and not %d at most, and nobody says so", i, gap, l.Max)
		}
	}
	return all
}

// aFloor draws a floor of some pieces: chains with drying, recoat windows, a booth that holds one.
func aFloor(t *rapid.T) *Problem {
	p := &Problem{Horizon: 60 * 1440}
	workers := rapid.IntRange(1, 3).Draw(t, "workers")
	for i := range workers {
		p.Workers = append(p.Workers, Worker{fmt.Sprint("w", i), shifts(60, 420+rapid.IntRange(0, 120).Draw(t, "begins"))})
	}
	p.Stations = []Station{{ID: "booth", Capacity: 1}, {ID: "bench", Capacity: 3}}
	if rapid.Bool().Draw(t, "colours") {
		p.Stations[0].Changeover = [][]int{{0, 0, 0}, {0, 0, rapid.IntRange(0, 90).Draw(t, "to dark")}, {0, rapid.IntRange(0, 300).Draw(t, "to light"), 0}}
	}
	for d := range 60 {
		p.Stations[0].Calendar = append(p.Stations[0].Calendar, Window{d*1440 + 400, d*1440 + 1100})
	}
	for i := range rapid.IntRange(1, 5).Draw(t, "pieces") {
		p.Pieces = append(p.Pieces, Piece{fmt.Sprint("p", i), rapid.IntRange(0, 1000).Draw(t, "release"), rapid.SampledFrom([]int{2000, 6000, NoDue}).Draw(t, "due"), float64(rapid.IntRange(1, 8).Draw(t, "weight"))})
		for j := range rapid.IntRange(1, 5).Draw(t, "operations") {
			p.Operations = append(p.Operations, anOperation(t, p, i))
			if n := len(p.Operations); j > 0 {
				l := Lag{n - 2, n - 1, rapid.IntRange(0, 600).Draw(t, "dries"), Forever}
				if rapid.Bool().Draw(t, "window") {
					l.Max = l.Min + rapid.IntRange(900, 3000).Draw(t, "wide")
				}
				p.Lags = append(p.Lags, l)
			}
		}
	}
	return p
}

func anOperation(t *rapid.T, p *Problem, piece int) Operation {
	o := Operation{ID: fmt.Sprint("o", len(p.Operations)), Piece: piece, Demand: 1, Splittable: rapid.Bool().Draw(t, "splittable")}
	if rapid.IntRange(0, 9).Draw(t, "alone") == 0 {
		o.Modes = []Mode{{Worker: NoWorker, Minutes: rapid.IntRange(0, 500).Draw(t, "soaks")}}
	} else {
		for w := range p.Workers {
			if w == 0 || rapid.Bool().Draw(t, "can") {
				o.Modes = append(o.Modes, Mode{Worker: w, Minutes: rapid.IntRange(1, 200).Draw(t, "minutes")})
			}
		}
	}
	o.Colour = rapid.IntRange(0, 2).Draw(t, "colour")
	if rapid.Bool().Draw(t, "at a station") {
		o.Stations = []int{rapid.IntRange(0, 1).Draw(t, "station"), 1}
		if n := len(o.Modes); n > 1 {
			o.Modes[n-1].Stations = []int{1}
		}
	}
	if last := len(p.Workers) - 1; o.Splittable && len(o.Modes) == 1 && o.Modes[0].Worker == 0 && last > 0 && rapid.Bool().Draw(t, "together") {
		o.With = []int{last}
	}
	if o.Pinned = rapid.IntRange(0, 5).Draw(t, "pinned") == 0; o.Pinned {
		o.Earliest = rapid.IntRange(0, 4000).Draw(t, "at")
	}
	return o
}

func TestDispatch_KeepsEveryConstraint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		plan, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		if b := broken(p, plan); len(b) > 0 {
			t.Fatalf("%d constraints are broken, the first: %s", len(b), b[0])
		}
		if len(plan.Left) > 0 {
			t.Fatalf("%d operations are left out on a floor with room for all", len(plan.Left))
		}
	})
}

// Begun work is kept and planned around.
func TestDispatch_KeepsWhatHasBegun(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := aFloor(t)
		first, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		p.Now = rapid.IntRange(0, 4000).Draw(t, "now")
		for i, s := range first.Slots {
			if s.Start < p.Now {
				p.Fixed = append(p.Fixed, Fixed{i, s})
			}
		}
		again, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		if b := broken(p, again); len(b) > 0 {
			t.Fatalf("%d constraints are broken, the first: %s", len(b), b[0])
		}
	})
}

// The checker itself finds what is planted.
func TestBroken_CanFail(t *testing.T) {
	p := &Problem{Horizon: 10_000, Workers: []Worker{{"w", shifts(3, 480)}}, Stations: []Station{{ID: "booth", Capacity: 1}},
		Pieces: []Piece{{"p", 0, NoDue, 1}}, Lags: []Lag{{0, 1, 60, 120}},
		Operations: []Operation{{ID: "a", Modes: []Mode{{Worker: 0, Minutes: 30}}, Stations: []int{0}, Demand: 1}, {ID: "b", Modes: []Mode{{Worker: 0, Minutes: 30}}, Stations: []int{0}, Demand: 1}}}
	p.Stations = append(p.Stations, Station{ID: "bench", Capacity: 1})
	p.Operations[0].Modes[0].Stations = []int{0}
	p.Stations[0].Changeover, p.Operations[0].Colour, p.Operations[1].Colour = [][]int{{0, 0, 0}, {0, 0, 65}, {0, 0, 0}}, 1, 2
	good := []Slot{{0, 0, 480, 510}, {0, 0, 580, 610}}
	if b := broken(p, &Plan{Slots: good}); len(b) > 0 {
		t.Fatalf("a good plan is called broken: %v", b)
	}
	for name, bad := range map[string][]Slot{
		"twice at once":   {{0, 0, 480, 510}, {0, 0, 500, 530}},
		"not dry":         {{0, 0, 480, 510}, {0, 0, 550, 580}},
		"not clean":       {{0, 0, 480, 510}, {0, 0, 572, 602}},
		"window closed":   {{0, 0, 480, 510}, {0, 0, 640, 670}},
		"outside a shift": {{0, 0, 400, 430}, {0, 0, 490, 520}},
		"too short":       {{0, 0, 480, 500}, {0, 0, 580, 610}},
		"over the break":  {{0, 0, 600, 630}, {0, 0, 705, 735}},
		"barred":          {{0, 1, 480, 510}, {0, 0, 580, 610}},
	} {
		if len(broken(p, &Plan{Slots: bad})) == 0 {
			t.Errorf("not found: %s", name)
		}
	}
}
