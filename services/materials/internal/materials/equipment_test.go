package materials_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

var booth = materials.Equipment{ID: id.New(), Name: "HVLP sprayer", Kind: "sprayer", HourlyCost: 4_50, Every: 50, StageKinds: []string{"topcoat_coat", "paint_coat"}, Station: "booth"}

func TestEquipment_Runs(t *testing.T) {
	sander := materials.Equipment{StageKinds: []string{"sand"}}
	gone := materials.Equipment{StageKinds: []string{"sand"}, Retired: true}
	for name, c := range map[string]struct {
		e     materials.Equipment
		stint materials.Stint
		want  bool
	}{
		"in the booth":          {booth, materials.Stint{StageKind: "paint_coat", Station: "booth"}, true},
		"brushed at the bench":  {booth, materials.Stint{StageKind: "paint_coat", Station: "bench-2"}, false},
		"nobody said where":     {booth, materials.Stint{StageKind: "paint_coat"}, false},
		"sanded in the booth":   {booth, materials.Stint{StageKind: "sand", Station: "booth"}, false},
		"wherever sand is done": {sander, materials.Stint{StageKind: "sand", Station: "bench-2"}, true},
		"the sander is no more": {gone, materials.Stint{StageKind: "sand"}, false},
	} {
		if got := c.e.Runs(c.stint); got != c.want {
			t.Errorf("%s: Runs = %v, want %v", name, got, c.want)
		}
	}
}

// Arithmetic: 50 minutes at $4.50 an hour are $3.75; a second of it costs nothing yet.
func TestEquipment_Cost(t *testing.T) {
	for ran, want := range map[time.Duration]money.Amount{50 * time.Minute: 3_75, time.Second: 0, 4 * time.Second: 0, 5 * time.Second: 1, 0: 0} {
		if got := booth.Cost(ran); got != want {
			t.Errorf("Cost(%v) = %d, want %d", ran, got, want)
		}
	}
}

// Three machines that ran 20 minutes each at $1.00: a third of a dollar each is 33.33 cents, the
// dollar is whole.
func TestCostOf(t *testing.T) {
	var uses []materials.Use
	for range 3 {
		uses = append(uses, materials.Use{Equipment: materials.Equipment{HourlyCost: 1_00}, Ran: 20 * time.Minute})
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
			uses[i].HourlyCost = money.Amount(rapid.Int64Range(0, 100_00).Draw(t, "cost"))
			uses[i].Ran = time.Duration(rapid.Int64Range(0, 100_000).Draw(t, "seconds")) * time.Second
		}
		total := materials.CostOf(uses)
		var sum money.Amount
		for _, u := range uses {
			sum += u.Cost
			if exact := u.Equipment.Cost(u.Ran); u.Cost < exact-1 || u.Cost > exact+1 {
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
	if a.Kind != materials.ServiceAlert || a.Key != booth.ID.String() || !a.Due.Equal(since) || a.Text == "" {
		t.Errorf("Alert = %+v", a)
	}
	if r.Retired = true; r.Due() {
		t.Error("what runs no more is due")
	}
}
