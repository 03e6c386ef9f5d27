package instance_test

import (
	"slices"
	"strings"
	"testing"
)

// A floor's plan is told by person, in order of time, and the promises that it does not keep.
func TestSolve_Timetable(t *testing.T) {
	a, err := solve(t, floor, "floor", 0)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"Bea", "  Mon 2 Mar 08:00 to 08:30  stool: paint, at bench", "  Mon 2 Mar 09:30 to 10:00  stool: paint, at bench",
		"stool is done at Mon 2 Mar 10:00, 0 h 40 min after its promise."}
	if !slices.Equal(a.Timetable, want) {
		t.Errorf("told %q\nwant %q", a.Timetable, want)
	}
	if drawn := string(a.Chart()); !strings.Contains(drawn, "<title>stool: paint, Mon 2 Mar 08:00 to Mon 2 Mar 08:30</title>") || !strings.Contains(drawn, ">stool: paint</text>") {
		t.Errorf("drawn %s", drawn)
	}
}
