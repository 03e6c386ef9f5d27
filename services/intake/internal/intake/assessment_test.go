package intake_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/intake/internal/intake"
)

func thick(t *testing.T, value, unit string) quantity.Quantity {
	t.Helper()
	q, err := quantity.Parse(value, unit)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// veneered is a part of which nothing is wrong with what is said.
func veneered(t *testing.T) intake.Seen {
	t.Helper()
	return intake.Seen{Material: finish.Veneer, Species: "walnut", Veneer: thick(t, "0.7", "mm"), OldFinish: finish.Shellac, PaintedIn: 1950, Decade: true,
		Condition: intake.Worn, Defects: []intake.PartDefect{{Kind: finish.VeneerChip, Severity: intake.ToMend, Where: "front edge"}, {Kind: finish.VeneerChip, Severity: intake.Slight, Where: "back"}}}
}

func TestSeen_Check(t *testing.T) {
	tests := map[string]struct {
		change func(*intake.Seen)
		reason string
		field  string
	}{
		"as it is":              {func(*intake.Seen) {}, "", ""},
		"nobody knows anything": {func(s *intake.Seen) { *s = intake.Seen{Material: finish.Veneer, OldFinish: finish.UnknownFinish} }, "", ""},
		"bare pine": {func(s *intake.Seen) {
			*s = intake.Seen{Material: finish.SolidWood, Species: "pine", OldFinish: intake.Bare}
		}, "", ""},
		"this year":                 {func(s *intake.Seen) { s.PaintedIn, s.Decade = 2026, false }, "", ""},
		"10 mm":                     {func(s *intake.Seen) { s.Veneer = thick(t, "1", "cm") }, "", ""},
		"no material":               {func(s *intake.Seen) { s.Material, s.Veneer = "glass", quantity.Quantity{} }, "MATERIAL_UNKNOWN", "seen.material"},
		"no such wood":              {func(s *intake.Seen) { s.Species = "plastic" }, "SPECIES_UNKNOWN", "seen.species"},
		"metal of a species":        {func(s *intake.Seen) { s.Material, s.Veneer = finish.Metal, quantity.Quantity{} }, "SPECIES_OF_NO_WOOD", "seen.species"},
		"no finish said":            {func(s *intake.Seen) { s.OldFinish = "" }, "FINISH_MISSING", "seen.old_finish"},
		"no such finish":            {func(s *intake.Seen) { s.OldFinish = "boat varnish" }, "FAMILY_UNKNOWN", "seen.old_finish"},
		"veneer on solid wood":      {func(s *intake.Seen) { s.Material = finish.SolidWood }, "VENEER_OF_NO_VENEER", "seen.veneer"},
		"veneer above 10 mm":        {func(s *intake.Seen) { s.Veneer = thick(t, "10.01", "mm") }, "VENEER_THICKNESS", "seen.veneer"},
		"veneer of nothing":         {func(s *intake.Seen) { s.Veneer = thick(t, "0", "mm") }, "VENEER_THICKNESS", "seen.veneer"},
		"veneer below 0":            {func(s *intake.Seen) { s.Veneer = thick(t, "-1", "mm") }, "VENEER_THICKNESS", "seen.veneer"},
		"veneer in litres":          {func(s *intake.Seen) { s.Veneer = thick(t, "0.001", "L") }, "VENEER_THICKNESS", "seen.veneer"},
		"next year":                 {func(s *intake.Seen) { s.PaintedIn, s.Decade = 2027, false }, "YEAR_IN_FUTURE", "seen.painted_in"},
		"before anybody":            {func(s *intake.Seen) { s.PaintedIn, s.Decade = 1599, false }, "YEAR_TOO_OLD", "seen.painted_in"},
		"a decade of 1955":          {func(s *intake.Seen) { s.PaintedIn = 1955 }, "DECADE_WITHOUT_NOUGHT", "seen.painted_in"},
		"a decade of no year":       {func(s *intake.Seen) { s.PaintedIn = 0 }, "DECADE_WITHOUT_NOUGHT", "seen.painted_in"},
		"bare, painted":             {func(s *intake.Seen) { s.OldFinish = intake.Bare }, "YEAR_OF_NO_FINISH", "seen.painted_in"},
		"no such defect":            {func(s *intake.Seen) { s.Defects[1].Kind = "ghost" }, "DEFECT_UNKNOWN", "seen.defects[1].kind"},
		"one defect twice in place": {func(s *intake.Seen) { s.Defects[1].Where = "Front Edge" }, "DEFECT_TWICE", "seen.defects[1]"},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) {
			s := veneered(t)
			tc.change(&s)
			f := fault.Of(s.Check(2026))
			switch {
			case tc.reason == "" && f != nil, tc.reason != "" && f == nil:
				t.Errorf("Check() = %v, want %q", f, tc.reason)
			case f != nil && (f.Reason != tc.reason || f.Kind != fault.Invalid || f.Fields[0].Path != tc.field):
				t.Errorf("Check() = %s at %v, want %s at %s", f.Reason, f.Fields, tc.reason, tc.field)
			}
		})
	}
}

var lookedAt = time.Date(2026, 3, 3, 12, 0, 0, 0, time.UTC)

func TestAssessment_Assess(t *testing.T) {
	a := intake.Assessment{Part: intake.Part{ID: id.New(), Label: "top"}}
	piece := intake.Piece{Tag: 4, State: intake.Scrapped, ScrapReason: "worm"}
	if err := a.Assess(piece, veneered(t), 2026, "ana", lookedAt); !fault.Is(err, "PIECE_SCRAPPED") || a.Seen != nil || a.Version != 0 {
		t.Errorf("Assess of a scrapped piece = %v, %+v", err, a)
	}
	piece.State = intake.InHand
	if err := a.Assess(piece, veneered(t), 1949, "ana", lookedAt); !fault.Is(err, "YEAR_IN_FUTURE") || a.Version != 0 {
		t.Errorf("Assess in 1949 = %v", err)
	}
	for version := range int64(2) {
		if err := a.Assess(piece, veneered(t), 2026, "ana", lookedAt); err != nil || a.Version != version+1 || a.By != "ana" || !a.At.Equal(lookedAt) || a.Seen.Species != "walnut" {
			t.Errorf("Assess = %v, %+v", err, a)
		}
	}
}

// What may be sanded off is exact, and by the floor of the rules: 0.2 mm (common practice), of veneer that nobody measured
// 0.5 mm being presumed.
func TestAssessment_VeneerFloor(t *testing.T) {
	for _, tc := range []struct {
		value, unit string
		sandable    string
	}{{"0.6", "mm", "0.4"}, {"0.2", "mm", "0"}, {"0.15", "mm", "0"}, {"0.04", "in", "0.816"}, {"0.123456789", "cm", "1.03456789"}} {
		s := intake.Seen{Material: finish.Veneer, Veneer: thick(t, tc.value, tc.unit)}
		f := intake.Assessment{Seen: &s}.VeneerFloor()
		if f == nil || f.Presumed || !f.Sandable.Equal(decimal.RequireFromString(tc.sandable)) || !f.Floor.Equal(decimal.RequireFromString("0.2")) {
			t.Errorf("VeneerFloor of %s %s = %+v, want %s mm", tc.value, tc.unit, f, tc.sandable)
		}
	}
	f := intake.Assessment{Seen: &intake.Seen{Material: finish.Veneer}}.VeneerFloor()
	if f == nil || !f.Presumed || f.Thickness.String() != "0.5" || f.Sandable.String() != "0.3" {
		t.Errorf("VeneerFloor where nobody measured = %+v", f)
	}
	if f := (intake.Assessment{Seen: &intake.Seen{Material: finish.SolidWood}}).VeneerFloor(); f != nil {
		t.Errorf("VeneerFloor of solid wood = %+v, want none", f)
	}
	if f := (intake.Assessment{}).VeneerFloor(); f != nil {
		t.Errorf("VeneerFloor of what nobody saw = %+v, want none", f)
	}
}
