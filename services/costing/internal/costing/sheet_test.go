package costing_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
)

// A pay rate counts from a day of the shop's, so the day that lacks one is told as the
// shop counts it: an evening in Chicago is the next day in Greenwich.
func TestSheet_Open_DaysOfTheShop(t *testing.T) {
	chicago, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	s := costing.Sheet{Unrated: []costing.Unrated{{PersonName: "Nell", Since: time.Date(2026, 3, 3, 1, 30, 0, 0, time.UTC)}}}
	if got, want := s.Open(chicago), []string{"Nell has no pay rate yet for work on 2026-03-02"}; !slices.Equal(got, want) {
		t.Errorf("Open = %q, want %q", got, want)
	}
}

// A piece's cost is not final while anybody works on it, sold or not.
func TestSheet_Open_Running(t *testing.T) {
	for running, want := range map[int32][]string{
		-1: nil, // of a clock whose beginning is not known
		0:  nil,
		1:  {"somebody is on the clock at it now"},
		2:  {"2 people are on the clock at it now"},
		12: {"12 people are on the clock at it now"},
	} {
		for _, state := range []costing.SalesState{costing.NotListed, costing.Sold} {
			if got := (costing.Sheet{Sales: state, Running: running}).Open(time.UTC); !slices.Equal(got, want) {
				t.Errorf("Open of a piece that is %s with %d clocks = %q, want %q", state, running, got, want)
			}
		}
	}
}

// Of what somebody is called the newest word counts, in whatever order the words come.
func TestBook_Name(t *testing.T) {
	first, second := costing.Person{ID: nell, Name: "Nell", Version: 1}, costing.Person{ID: nell, Name: "Nell Quist", Version: 2}
	other := costing.Person{ID: id.New(), Name: "Ana", Version: 7}
	for _, words := range [][]costing.Person{{first, other, second}, {second, first, other}, {other, second, second}} {
		b := costing.NewBook()
		for _, p := range words {
			b.Name(p)
		}
		if b.Names[nell] != second || b.Names[other.ID] != other || len(b.People()) != 2 || len(b.Pieces()) != 0 {
			t.Errorf("after %v: %v, want %v and %v, and no piece changed", words, b.Names, second, other)
		}
	}
}
