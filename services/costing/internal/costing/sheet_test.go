package costing_test

import (
	"slices"
	"testing"
	"time"

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
