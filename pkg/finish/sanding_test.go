package finish_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// A published comparison chart of the grades, whole µm: FEPA P40 to P220 and P280 to P2500,
// CAMI 40 to 150 within 2. The figures 78 and 66 that circulate for P180 and P220 are CAMI's.
func TestGrit_Micrometres(t *testing.T) {
	for text, want := range map[string]float64{
		"P40": 425, "P50": 336, "P80": 201, "P100": 162, "P120": 125, "P150": 100, "P180": 82, "P220": 68,
		"P280": 52, "P320": 46, "P400": 35, "P600": 26, "P800": 22, "P1000": 18, "P2500": 8.4, "p120": 125,
		"40": 428, "60": 268, "80": 192, "100": 140, "120": 116, "150": 93, "180": 78, "220": 66,
	} {
		got, err := grits(t, text)[0].Micrometres()
		if err != nil || got < want-2 || got > want+2 {
			t.Errorf("%s = %v µm, %v, want %v", text, got, err, want)
		}
	}
	// Common equivalences: P400 and CAMI 320, P800 and 400, P1200 and 600.
	for p, cami := range map[string]string{"P400": "320", "P800": "400", "P1200": "600"} {
		a, _ := grits(t, p)[0].Micrometres()
		b, _ := grits(t, cami)[0].Micrometres()
		if a/b < 0.9 || a/b > 1.1 {
			t.Errorf("%s is %v µm and CAMI %s %v", p, a, cami, b)
		}
	}
}

func TestSandingSequence(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     []string
	}{
		{"P80", "P220", []string{"P80", "P120", "P180", "P220"}}, {"P80", "P180", []string{"P80", "P120", "P180"}}, {"P120", "P120", []string{"P120"}},
		{"P100", "P120", []string{"P100", "P120"}}, {"80", "220", []string{"80", "120", "180", "220"}}, {"P150", "150", []string{"P150", "150"}}, {"100", "180", []string{"100", "150", "180"}},
	} {
		ends := grits(t, c.from, c.to)
		got, err := finish.SandingSequence(ends[0], ends[1])
		if err != nil || !slices.Equal(got, grits(t, c.want...)) {
			t.Errorf("from %s to %s = %v, %v, want %v", c.from, c.to, got, err, c.want)
		}
	}
	if _, err := finish.SandingSequence(finish.P(220), finish.P(120)); !fault.Is(err, "GRIT_BACKWARDS") {
		t.Errorf("backwards = %v, want GRIT_BACKWARDS", err)
	}
}

func TestCheckSequence(t *testing.T) {
	for _, c := range []struct {
		sequence []string
		at       []int
	}{
		{[]string{"P80", "P120", "P180"}, nil}, {[]string{"P80", "P150"}, []int{1}}, {[]string{"P120", "P80"}, []int{1}}, {[]string{"P120", "120"}, nil},
		{[]string{"P80", "P80"}, []int{1}}, {[]string{"P80", "P120", "P220", "P180"}, []int{2, 3}}, {[]string{"60", "100", "150", "220"}, nil}, {nil, nil},
	} {
		faults, err := finish.CheckSequence(grits(t, c.sequence...))
		var at []int
		for _, f := range faults {
			at = append(at, f.At)
		}
		if err != nil || !slices.Equal(at, c.at) {
			t.Errorf("%v = %v, %v, want faults at %v", c.sequence, faults, err, c.at)
		}
	}
}

// What the generator makes the checker passes, from any grade to any finer one.
func TestSandingSequence_PassesItsCheck(t *testing.T) {
	all := grits(t, "P40", "P50", "P60", "P80", "P100", "P120", "P150", "P180", "P220", "P240", "P280", "P320", "P400", "60", "80", "100", "120", "150", "180", "220")
	rapid.Check(t, func(t *rapid.T) {
		from, to := rapid.SampledFrom(all).Draw(t, "from"), rapid.SampledFrom(all).Draw(t, "to")
		sequence, err := finish.SandingSequence(from, to)
		if fault.Is(err, "GRIT_BACKWARDS") {
			return
		}
		faults, err2 := finish.CheckSequence(sequence)
		if err != nil || err2 != nil || len(faults) > 0 || sequence[0] != from || sequence[len(sequence)-1] != to {
			t.Fatalf("from %s to %s: %v, %v, %v", from, to, sequence, faults, err)
		}
	})
}

// Guides to refinishing agree on 150 to 220 before a stain; between coats 320 and finer is
// common practice.
func TestGrit_FitFor(t *testing.T) {
	for text, want := range map[string][2]bool{
		"P120": {false, false}, "120": {false, false}, "P150": {true, false}, "150": {true, false}, "P180": {true, false}, "P220": {true, false}, "220": {true, false},
		"P240": {false, false}, "P280": {false, false}, "P320": {false, true}, "320": {false, true}, "P400": {false, true},
	} {
		g := grits(t, text)[0]
		if got := [2]bool{g.FitForStain(), g.FitBetweenCoats()}; got != want {
			t.Errorf("%s is fit before stain, between coats: %v, want %v", text, got, want)
		}
	}
}

func TestParseGrit_Refuses(t *testing.T) {
	for _, text := range []string{"", "P", "P0", "P121", "121", "-80", "P80x", "coarse", "PP80"} {
		if g, err := finish.ParseGrit(text); !fault.Is(err, "GRIT_UNKNOWN") {
			t.Errorf("ParseGrit(%q) = %v, %v, want GRIT_UNKNOWN", text, g, err)
		}
	}
}
