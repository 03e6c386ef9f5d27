package planner

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// packed is a floor of one worker whose shifts are cut up into stretches of work, one operation of a piece of its own
// each, and slack minutes more: it is known that all fit.
func packed(r *rand.Rand, shifts, each, slack int) *Problem {
	const length = 240
	p := &Problem{Horizon: shifts * 1440, Workers: []Worker{{ID: "liv"}}}
	var minutes []int
	for s := range shifts {
		p.Workers[0].Calendar = append(p.Workers[0].Calendar, Window{s*1440 + 480, s*1440 + 480 + length + slack})
		rest := length
		for k := each; k > 1; k-- {
			m := 15 + r.IntN(max(1, (rest-15*(k-1))*2/k-15))
			minutes, rest = append(minutes, m), rest-m
		}
		minutes = append(minutes, rest)
	}
	r.Shuffle(len(minutes), func(i, j int) { minutes[i], minutes[j] = minutes[j], minutes[i] })
	for i, m := range minutes {
		p.Pieces = append(p.Pieces, Piece{ID: fmt.Sprint(i), Due: NoDue, Weight: 1})
		p.Operations = append(p.Operations, Operation{ID: fmt.Sprint(i), Piece: i, Modes: []Mode{{Worker: 0, Minutes: m}}})
	}
	return p
}

// Work that just fits before the horizon is found places for, however it comes.
func TestImprove_FindsPlacesForWhatJustFits(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 0))
	dispatched := 0
	for i := range 60 {
		p := packed(r, 2+i%3, 3+i%2, []int{0, 5, 12}[i%3])
		first, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		if len(first.Left) > 0 {
			dispatched++
		}
		plan, err := Improve(p, nil, Options{Seed: 1, Cores: 1, Iterations: 5000}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := Validate(p, plan); err != nil {
			t.Fatal(err)
		}
		if len(plan.Left) > 0 {
			t.Errorf("floor %d: %d of %d operations that fit have no place", i, len(plan.Left), len(p.Operations))
		}
	}
	if dispatched < 30 {
		t.Errorf("only %d of 60 floors need a search: they are too easy to say anything", dispatched)
	}
}

// Where there is too little time for all, what has a place at once keeps one, and every constraint is kept.
func TestImprove_TakesNobodysPlace(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 0))
	left, found := 0, 0
	for range 100 {
		p := crowded(r)
		first, err := Dispatch(p)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := Improve(p, first, Options{Seed: 1, Cores: 1, Iterations: 500}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if trouble := broken(p, plan); len(trouble) > 0 {
			t.Fatal(trouble)
		}
		had := first.leaves()
		for op := range plan.leaves() {
			if !had[op] {
				t.Errorf("operation %d had a place, and has none", op)
			}
		}
		left, found = left+len(plan.Left), found+len(first.Left)-len(plan.Left)
	}
	if left < 100 || found < 10 {
		t.Errorf("%d are left out and %d were found a place for: the floors say little", left, found)
	}
}

// crowded is a floor with more work than shifts, half of it in pairs with drying between the two.
func crowded(r *rand.Rand) *Problem {
	p := packed(r, 3, 4, 0)
	for i := 0; i < 6; i += 2 {
		p.Operations[i+1].Piece = p.Operations[i].Piece
		p.Lags = append(p.Lags, Lag{i, i + 1, r.IntN(300), Forever})
	}
	for i := range 2 {
		p.Operations = append(p.Operations, Operation{ID: fmt.Sprint("more ", i), Piece: i, Modes: []Mode{{Worker: 0, Minutes: 30 + r.IntN(60)}}})
	}
	return p
}
