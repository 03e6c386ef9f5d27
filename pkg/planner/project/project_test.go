package project

import (
	"errors"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
)

// shop is the job shop of Fisher and Thompson, Industrial Scheduling (1963), 225-251, with six jobs on six machines:
// machine and minutes. Its shortest schedule takes 55.
const shop = `2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1`

// asProject makes machines resources of which there is one.
func asProject(t *testing.T, text string) *Project {
	t.Helper()
	p := &Project{Capacities: []int{1, 1, 1, 1, 1, 1}}
	for line := range strings.Lines(text) {
		var n []int
		for _, f := range strings.Fields(line) {
			v, err := strconv.Atoi(f)
			if err != nil {
				t.Fatal(err)
			}
			n = append(n, v)
		}
		for i := 0; i < len(n); i += 2 {
			demands := make([]int, 6)
			demands[n[i]] = 1
			if a := len(p.Activities); i > 0 {
				p.Lags = append(p.Lags, Lag{a - 1, a, p.Activities[a-1].Duration})
			}
			p.Activities = append(p.Activities, Activity{n[i+1], demands})
		}
	}
	return p
}

// solved solves without a clock, and has the rules look at what comes out.
func solved(t rapidT, p *Project, o Options) Result {
	t.Helper()
	if o.Conflicts == 0 {
		o.Conflicts = 200_000
	}
	r, err := Solve(nil, p, o)
	if err != nil {
		t.Fatal(err)
	}
	if r.Starts == nil {
		return r
	}
	if makespan, err := p.Validate(r.Starts); err != nil || makespan != r.Makespan || r.Bound > makespan {
		t.Fatalf("a makespan of %d, no less than %d: %v, and it is %d", r.Makespan, r.Bound, err, makespan)
	}
	return r
}

type rapidT interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

func TestSolve_JobShop(t *testing.T) {
	p := asProject(t, shop)
	r := solved(t, p, Options{Seed: 1})
	if r.Status != Optimal || r.Makespan != 55 {
		t.Errorf("status %d, makespan %d; the shortest takes 55", r.Status, r.Makespan)
	}
}

// least tries all starts of a tiny project up to a time; -1: there are none.
func least(p *Project, horizon int) int {
	best := -1
	starts := make([]int, len(p.Activities))
	var try func(a int)
	try = func(a int) {
		if a == len(starts) {
			if m, err := p.Validate(starts); err == nil && (best < 0 || m < best) {
				best = m
			}
			return
		}
		for starts[a] = 0; starts[a] <= horizon; starts[a]++ {
			try(a + 1)
		}
		starts[a] = 0
	}
	try(0)
	return best
}

// tiny draws a project of a few activities, with longest lags or without.
func tiny(t *rapid.T, longest bool) *Project {
	p := &Project{Capacities: []int{rapid.IntRange(1, 3).Draw(t, "capacity"), 2}}
	n := rapid.IntRange(1, 4).Draw(t, "activities")
	for range n {
		p.Activities = append(p.Activities, Activity{rapid.IntRange(0, 2).Draw(t, "duration"),
			[]int{rapid.IntRange(0, 2).Draw(t, "demand"), rapid.IntRange(0, 2).Draw(t, "another")}})
	}
	for range rapid.IntRange(0, 4).Draw(t, "lags") {
		from, to := rapid.IntRange(0, n-1).Draw(t, "from"), rapid.IntRange(0, n-1).Draw(t, "to")
		low := 0
		if longest {
			low = -3
		}
		if from == to || !longest && from > to {
			continue
		}
		p.Lags = append(p.Lags, Lag{from, to, rapid.IntRange(low, 2).Draw(t, "lag")})
	}
	return p
}

// Of every tiny project the shortest plan is found and proved, or that there is none.
func TestSolve_ByTryingAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t, rapid.Bool().Draw(t, "longest lags"))
		want := least(p, p.horizon())
		r := solved(t, p, Options{Seed: 7})
		if want < 0 && r.Status != Infeasible || want >= 0 && (r.Status != Optimal || r.Makespan != want || r.Bound != want) {
			t.Fatalf("status %d, makespan %d, bound %d; trying all starts gives %d of %+v", r.Status, r.Makespan, r.Bound, want, p)
		}
	})
}

// medium draws a project that takes some conflicts.
func medium(t *rapid.T, longest bool) *Project {
	p := &Project{Capacities: []int{5, 4}}
	n := rapid.IntRange(8, 16).Draw(t, "activities")
	for a := range n {
		p.Activities = append(p.Activities, Activity{rapid.IntRange(1, 9).Draw(t, "duration"), []int{rapid.IntRange(0, 4).Draw(t, "demand"), rapid.IntRange(0, 4).Draw(t, "another")}})
		if a == 0 || rapid.Bool().Draw(t, "free") {
			continue
		}
		from := rapid.IntRange(0, a-1).Draw(t, "from")
		p.Lags = append(p.Lags, Lag{from, a, p.Activities[from].Duration})
		if longest {
			p.Lags = append(p.Lags, Lag{a, from, -rapid.IntRange(p.Activities[from].Duration, 30).Draw(t, "longest")})
		}
	}
	return p
}

// A plan is valid whether proved or not; the same seed gives the same; more conflicts give none that is longer.
func TestSolve_AlwaysValid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := medium(t, rapid.Bool().Draw(t, "longest lags"))
		short, again := solved(t, p, Options{Seed: 3, Conflicts: 1000}), solved(t, p, Options{Seed: 3, Conflicts: 1000})
		if !reflect.DeepEqual(short, again) {
			t.Fatalf("the same seed gives %+v, then %+v", short, again)
		}
		if long := solved(t, p, Options{Seed: 3, Conflicts: 5000}); short.Starts != nil && long.Makespan > short.Makespan {
			t.Fatalf("after more conflicts %d, before %d", long.Makespan, short.Makespan)
		}
	})
}

// Plans by lists are valid before anything is proved, and never longer than before.
func TestLists(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := medium(t, false)
		l := newLists(p, 5)
		before := l.least
		l.better(50)
		if m, err := p.Validate(l.best); err != nil || m != l.least || m > before {
			t.Fatalf("%v; makespan %d, said to be %d, before %d", err, m, l.least, before)
		}
	})
}

func TestSolve_Infeasible(t *testing.T) {
	two := []Activity{{3, []int{1}}, {3, []int{1}}}
	for name, p := range map[string]*Project{
		"lags in a circle":         {Activities: two, Capacities: []int{2}, Lags: []Lag{{0, 1, 2}, {1, 0, -1}}},
		"more than there is":       {Activities: []Activity{{1, []int{2}}}, Capacities: []int{1}},
		"side by side, only alone": {Activities: two, Capacities: []int{1}, Lags: []Lag{{0, 1, -2}, {1, 0, -2}}},
	} {
		if r := solved(t, p, Options{}); r.Status != Infeasible || r.Starts != nil {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

func TestCheck(t *testing.T) {
	for name, p := range map[string]*Project{
		"nothing":              {},
		"another's demands":    {Activities: []Activity{{1, nil}}, Capacities: []int{1}},
		"less than nothing":    {Activities: []Activity{{-1, nil}}},
		"a lag to nowhere":     {Activities: []Activity{{1, nil}}, Lags: []Lag{{0, 1, 0}}},
		"longer than for ever": {Activities: []Activity{{most, nil}, {most, nil}}},
	} {
		if _, err := Solve(nil, p, Options{}); !errors.Is(err, fault.Invalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestLuby(t *testing.T) {
	for i, want := range []int{1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8} { // Luby, Sinclair and Zuckerman (1993)
		if got := luby(i + 1); got != want {
			t.Errorf("luby(%d) = %d, want %d", i+1, got, want)
		}
	}
}
