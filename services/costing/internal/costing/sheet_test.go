package costing_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
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
	if got, want := s.Open(chicago, usd), []string{"Nell has no pay rate yet for work on 2026-03-02"}; !slices.Equal(got, want) {
		t.Errorf("Open = %q, want %q", got, want)
	}
}

// A piece's cost is not final while anybody works on it, sold or not; one person is one,
// however many of their clocks run at it.
func TestSheet_Open_Running(t *testing.T) {
	for _, c := range []struct {
		running int32
		people  int64
		want    []string
	}{
		{-1, 0, nil}, // of a clock whose beginning is not known
		{0, 0, nil},
		{1, 1, []string{"somebody is on the clock at it now"}},
		{3, 1, []string{"somebody is on the clock at it now"}},
		{2, 0, []string{"somebody is on the clock at it now"}}, // of clocks from before it was known whose
		{2, 2, []string{"2 people are on the clock at it now"}},
		{15, 12, []string{"12 people are on the clock at it now"}},
	} {
		for _, state := range []costing.SalesState{costing.NotListed, costing.Sold} {
			if got := (costing.Sheet{Sales: state, Running: c.running, AtWork: c.people}).Open(time.UTC, usd); !slices.Equal(got, c.want) {
				t.Errorf("Open of a piece that is %s with %d clocks of %d people = %q, want %q", state, c.running, c.people, got, c.want)
			}
		}
	}
}

// Nor is it while a part is at others, who may have named a price, be it none, nor before they billed.
func TestSheet_Open_Outside(t *testing.T) {
	quoted, free := money.Amount(99_00), money.Amount(0)
	s := costing.Sheet{Out: []costing.OutsideWork{{Kind: "caning", Firm: "Reedmere Caning", Quoted: &quoted}, {Kind: "stone", Firm: "Ada Stone"}, {Kind: "upholstery", Firm: "Bo", Quoted: &free},
		{Kind: "mirror", Firm: "Glass & Co", Unbilled: true}}}
	want := []string{"caning by Reedmere Caning is out, quoted 99.00", "stone by Ada Stone is out", "upholstery by Bo is out, quoted 0.00", "no bill yet from Glass & Co for mirror"}
	if got := s.Open(time.UTC, usd); !slices.Equal(got, want) {
		t.Errorf("Open = %q, want %q", got, want)
	}
}

// Of what somebody is called the newest word counts, in whatever order the words come.
func TestBook_Name(t *testing.T) {
	first, second := costing.Person{ID: nell, Name: "Nell", Version: 1}, costing.Person{ID: nell, Name: "Nell Quist", Version: 2}
	other := costing.Person{ID: id.New(), Name: "Ana", Version: 7}
	for _, words := range [][]costing.Person{{first, other, second}, {second, first, other}, {other, second, second}} {
		b := costing.NewBook(costing.Standard())
		for _, p := range words {
			b.Name(p)
		}
		if b.Names[nell] != second || b.Names[other.ID] != other || len(b.People()) != 2 || len(b.Pieces()) != 0 {
			t.Errorf("after %v: %v, want %v and %v, and no piece changed", words, b.Names, second, other)
		}
	}
}
