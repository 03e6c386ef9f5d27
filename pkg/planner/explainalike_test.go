package planner

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// overNight is a floor on which a second coat has to follow the first in the eleventh hour, when everybody is at
// home: so many people of one shift, four benches and a booth, for so many weeks.
func overNight(people, weeks int) *Problem {
	var shifts Calendar
	for day := range weeks * 7 {
		if day%7 < 5 {
			shifts = append(shifts, Window{day*1440 + 480, day*1440 + 720}, Window{day*1440 + 750, day*1440 + 960})
		}
	}
	p := &Problem{Horizon: weeks * 7 * 1440, Stations: []Station{{ID: "booth", Capacity: 2}}, Pieces: []Piece{{"chair", 0, NoDue, 1}}}
	for i := range 4 {
		p.Stations = append(p.Stations, Station{ID: fmt.Sprint("bench ", i), Capacity: 4})
	}
	for i, minutes := range []int{90, 120, 40, 40} {
		o := Operation{Stations: []int{1, 2, 3, 4}, Demand: 1}
		if i >= 2 {
			o.Stations = []int{0}
		}
		for w := range people {
			o.Modes = append(o.Modes, Mode{Worker: w, Minutes: minutes})
		}
		p.Operations = append(p.Operations, o)
	}
	for i := range people {
		p.Workers = append(p.Workers, Worker{fmt.Sprint(i), shifts})
	}
	p.Lags = []Lag{{0, 1, 0, Forever}, {1, 2, 0, Forever}, {2, 3, 600, 660}}
	return p
}

// looks is what Explain finds, and how much it looks at for that.
func looks(t *testing.T, p *Problem, op, most int) ([]Constraint, int) {
	c, err := compile(p)
	if err != nil {
		t.Fatal(err)
	}
	e := &explainer{c: c, ops: c.needed(op), allowance: allowance{most}}
	e.meanwhile()
	e.all = e.liftable()
	if e.possible(e.all) {
		return nil, most - e.left
	}
	return e.smallest(nil, false, e.all), most - e.left
}

// Everybody's hours and the wait are named, with little looked at however many are alike and however far it plans.
func TestExplain_ManyAlike(t *testing.T) {
	for _, x := range []struct{ people, weeks, most int }{{8, 8, 60_000}, {16, 8, 110_000}, {16, 52, 150_000}} {
		p := overNight(x.people, x.weeks)
		var want []Constraint
		for i := range x.people {
			want = append(want, Constraint{WorkerHours, i})
		}
		want = append(want, Constraint{LongestWait, 2})
		if got, err := Explain(p, 3); err != nil || !slices.Equal(got, want) {
			t.Errorf("%d people, %d weeks: %v, %v; want %v", x.people, x.weeks, got, err, want)
		}
		if _, n := looks(t, p, 3, mostLooks); n > x.most {
			t.Errorf("%d people, %d weeks: %d looks, want %d at most", x.people, x.weeks, n, x.most)
		}
	}
}

// With nothing left of the allowance nothing is said, and not much more is looked at.
func TestExplain_Allowance(t *testing.T) {
	p := overNight(12, 52)
	for i := range p.Workers { // no two alike
		p.Workers[i].Calendar = slices.Clone(p.Workers[i].Calendar)
		for k := range p.Workers[i].Calendar {
			w := &p.Workers[i].Calendar[k]
			*w = Window{w.Start + 2*i, w.End + 2*i}
		}
		for o := range p.Operations {
			p.Operations[o].Modes[i].Minutes += i
		}
	}
	p.Operations = append(p.Operations, slices.Clone(p.Operations[:3])...)
	p.Lags = append(p.Lags, Lag{4, 3, 0, 900}, Lag{5, 3, 0, 900}, Lag{6, 3, 0, 900})
	if got, err := Explain(p, 3); err != nil || got != nil {
		t.Errorf("too much to look at: %v, %v", got, err)
	}
	if _, n := looks(t, p, 3, mostLooks); n <= mostLooks || n > mostLooks*11/10 {
		t.Errorf("%d looks of %d", n, mostLooks)
	}
}

// That some of those alike are left out changes no answer.
func TestExplain_AlikeLeftOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hours := []Calendar{nil, {{2, 6}, {8, 11}}, {{0, 5}}}
		p := &Problem{Horizon: rapid.IntRange(5, 14).Draw(t, "horizon"), Pieces: []Piece{{"p", 0, NoDue, 1}}}
		for range rapid.IntRange(2, 4).Draw(t, "people") {
			p.Workers = append(p.Workers, Worker{"w", rapid.SampledFrom(hours).Draw(t, "hours")})
		}
		for range 3 {
			p.Stations = append(p.Stations, Station{ID: "s", Capacity: rapid.IntRange(1, 2).Draw(t, "room")})
		}
		for i := range rapid.IntRange(2, 4).Draw(t, "operations") {
			o := Operation{Demand: 1, Stations: rapid.SampledFrom([][]int{nil, {0, 1}, {0, 1, 2}}).Draw(t, "where")}
			for w := range p.Workers {
				o.Modes = append(o.Modes, Mode{Worker: w, Minutes: rapid.SampledFrom([]int{3, 3, 4}).Draw(t, "minutes")})
			}
			if p.Operations = append(p.Operations, o); i > 0 {
				p.Lags = append(p.Lags, Lag{rapid.IntRange(0, i-1).Draw(t, "after"), i, 0, rapid.IntRange(0, 2).Draw(t, "window")})
			}
		}
		c, err := compile(p)
		if err != nil {
			t.Fatal(err)
		}
		answer := func(all bool) []Constraint {
			e := &explainer{c: c, ops: c.order, allowance: allowance{50 * mostLooks}}
			if e.meanwhile(); all {
				for i := range e.ops {
					e.hands[i], e.others[i] = 99, 99
				}
			}
			if e.all = e.liftable(); e.possible(e.all) {
				return nil
			}
			return e.smallest(nil, false, e.all)
		}
		if got, want := answer(false), answer(true); !slices.Equal(got, want) {
			t.Fatalf("%v are in the way, and with all tried %v", got, want)
		}
	})
}

// Who and what is alike is needed all the same where several things have to go on at once.
func TestExplain_AlikeAtOnce(t *testing.T) {
	shift := Calendar{{10, 20}}
	for name, spoil := range map[string]func(p *Problem){
		"two people": func(p *Problem) {
			p.Operations[1].Modes, p.Operations[2].Modes = []Mode{{0, 5, nil}, {1, 5, nil}}, []Mode{{0, 5, nil}, {1, 5, nil}}
		},
		"two benches": func(p *Problem) {
			p.Operations[1].Stations, p.Operations[2].Stations = []int{0, 1}, []int{0, 1}
		},
		"a bench and a larger one": func(p *Problem) {
			p.Stations[1].Capacity = 2
			p.Operations[1].Stations, p.Operations[2].Stations = []int{0, 1}, []int{0, 1}
		},
		"three people, of whom two are together": func(p *Problem) {
			p.Operations[1].Modes, p.Operations[2].Modes, p.Operations[2].With = []Mode{{0, 5, nil}, {1, 5, nil}, {2, 5, nil}}, []Mode{{0, 5, nil}}, []int{1}
		},
	} {
		p := &Problem{Horizon: 30, Workers: []Worker{{"a", shift}, {"b", shift}, {"c", shift}}, Stations: []Station{{ID: "x", Capacity: 1}, {ID: "y", Capacity: 1}}, Pieces: []Piece{{"p", 0, NoDue, 1}}, Lags: []Lag{{0, 1, 0, 0}, {0, 2, 0, 0}}}
		for range 3 {
			p.Operations = append(p.Operations, Operation{Demand: 1, Modes: []Mode{{NoWorker, 5, nil}}})
		}
		spoil(p)
		if got, err := Explain(p, 2); err != nil || got != nil {
			t.Errorf("%s: %v, %v; want nothing in the way", name, got, err)
		}
	}
}
