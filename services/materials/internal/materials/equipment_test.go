package materials_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

var booth = materials.Equipment{ID: id.New(), Name: "HVLP sprayer", Kind: "sprayer", HourlyCost: 4_50, Every: 50, StageKinds: []string{"topcoat_coat", "paint_coat"}, Station: "booth"}

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// oclock is so many hours after noon.
func oclock(hours int) time.Time { return noon.Add(time.Duration(hours) * time.Hour) }

func TestSetting_During(t *testing.T) {
	gun := materials.Setting{Equipment: id.New(), From: oclock(0), Until: oclock(4), HourlyCost: 4_50, StageKinds: []string{"topcoat_coat", "paint_coat"}, Station: "booth"}
	sander, gone := gun, gun
	sander.StageKinds, sander.Station = []string{"sand"}, ""
	gone.Retired = true
	for name, c := range map[string]struct {
		setting     materials.Setting
		kind, at    string
		start, end  int
		from, until int
		runs        bool
	}{
		"in the booth":          {gun, "paint_coat", "booth", 1, 3, 1, 3, true},
		"begun before":          {gun, "paint_coat", "booth", -1, 3, 0, 3, true},
		"ended after":           {gun, "paint_coat", "booth", 1, 9, 1, 4, true},
		"over before":           {gun, "paint_coat", "booth", -3, 0, 0, 0, false},
		"begun after":           {gun, "paint_coat", "booth", 4, 5, 0, 0, false},
		"brushed at the bench":  {gun, "paint_coat", "bench-2", 1, 3, 0, 0, false},
		"nobody said where":     {gun, "paint_coat", "", 1, 3, 0, 0, false},
		"sanded in the booth":   {gun, "sand", "booth", 1, 3, 0, 0, false},
		"wherever sand is done": {sander, "sand", "bench-2", 1, 3, 1, 3, true},
		"it runs no more":       {gone, "paint_coat", "booth", 1, 3, 0, 0, false},
	} {
		got, runs := c.setting.During(materials.Stint{StageKind: c.kind, Station: c.at, Start: oclock(c.start), End: oclock(c.end)})
		want := materials.Stretch{Equipment: gun.Equipment, From: oclock(c.from), Until: oclock(c.until), HourlyCost: 4_50}
		if runs != c.runs || runs && got != want {
			t.Errorf("%s: During = %v, %v, want %v, %v", name, got, runs, want, c.runs)
		}
	}
}

func hours(cost money.Amount, ran time.Duration) materials.Hours {
	return materials.Hours{HourlyCost: cost, Ran: ran}
}

// Arithmetic: 50 minutes at $4.50 an hour are $3.75; a second of it costs nothing yet. An hour at
// $4.50 and one at $6.00 are $10.50. What it ran elsewhere costs the shop nothing.
func TestRunning_Cost(t *testing.T) {
	for want, all := range map[money.Amount][]materials.Hours{3_75: {hours(4_50, 50*time.Minute)}, 0: {hours(4_50, 4*time.Second)}, 1: {hours(4_50, 5*time.Second)},
		10_50: {hours(4_50, time.Hour), hours(6_00, time.Hour)}} {
		r := materials.Running{Equipment: booth, Hours: all}
		r.Starting = 700
		if got := r.Cost(); got != want {
			t.Errorf("Cost of %v = %d, want %d", all, got, want)
		}
	}
	r := materials.Running{Equipment: materials.Equipment{Starting: 700}, Hours: []materials.Hours{hours(4_50, time.Hour), hours(6_00, time.Minute)}}
	if got := r.Total(); got != 701*time.Hour+time.Minute {
		t.Errorf("Total = %v, want 701 h 1 min", got)
	}
}

// Three machines that ran 20 minutes each at $1.00: a third of a dollar each is 33.33 cents, the
// dollar is whole.
func TestCostOf(t *testing.T) {
	var uses []materials.Use
	for range 3 {
		uses = append(uses, materials.Use{Hours: []materials.Hours{hours(1_00, 20*time.Minute)}})
	}
	total := materials.CostOf(uses)
	if total != 1_00 || uses[0].Cost != 34 || uses[1].Cost != 33 || uses[2].Cost != 33 {
		t.Errorf("CostOf = %d of %d, %d, %d, want 100 of 34, 33, 33", total, uses[0].Cost, uses[1].Cost, uses[2].Cost)
	}
	if total := materials.CostOf(nil); total != 0 {
		t.Errorf("CostOf(nothing) = %d", total)
	}
}

// The lines add up to the sum, which is rounded once, and none is a cent away from its share.
func TestCostOf_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		uses := make([]materials.Use, rapid.IntRange(1, 8).Draw(t, "machines"))
		for i := range uses {
			for range rapid.IntRange(1, 3).Draw(t, "rates") {
				cost := money.Amount(rapid.Int64Range(0, 100_00).Draw(t, "cost"))
				uses[i].Hours = append(uses[i].Hours, hours(cost, time.Duration(rapid.Int64Range(0, 100_000).Draw(t, "seconds"))*time.Second))
			}
		}
		total := materials.CostOf(uses)
		var sum money.Amount
		for _, u := range uses {
			sum += u.Cost
			if exact := (materials.Running{Hours: u.Hours}).Cost(); u.Cost < exact-1 || u.Cost > exact+1 {
				t.Fatalf("line = %d, its share is %d", u.Cost, exact)
			}
		}
		if sum != total {
			t.Fatalf("lines add up to %d, the sum is %d", sum, total)
		}
	})
}

func TestRunning_Due(t *testing.T) {
	since := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	if (materials.Running{Equipment: booth}).Due() {
		t.Error("a new sprayer is due")
	}
	r := materials.Running{Equipment: booth, DueSince: since}
	if !r.Due() {
		t.Error("a sprayer after its hours is not due")
	}
	a := r.Alert()
	if a.Kind != materials.ServiceAlert || a.Key != booth.ID.String() || !a.Due.Equal(since) || !strings.Contains(a.Text, "no service was noted") {
		t.Errorf("Alert = %+v", a)
	}
	if r.ServicedAt = since; !strings.Contains(r.Alert().Text, "since its last service") {
		t.Errorf("after a service = %q", r.Alert().Text)
	}
	if r.Retired = true; r.Due() {
		t.Error("what runs no more is due")
	}
}
