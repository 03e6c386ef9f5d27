package materials_test

import (
	"strings"
	"testing"
	"time"

	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

func sheetOf(family finish.Family, carrier drying.Carrier) *datasheet.Sheet {
	return &datasheet.Sheet{Family: family, Carrier: carrier}
}

// Rags heat up by themselves with what dries by taking up oxygen: drying oils, oil varnish, oil
// polyurethane and stains bound by them; not with what only gives off water or solvent.
func TestMakesOilyWaste(t *testing.T) {
	for name, c := range map[string]struct {
		sheet    *datasheet.Sheet
		cautions []string
		want     bool
	}{
		"linseed oil":                 {sheet: sheetOf(finish.DryingOil, drying.Oil), want: true},
		"oil varnish in spirits":      {sheet: sheetOf(finish.OilVarnish, drying.Solvent), want: true},
		"oil polyurethane":            {sheet: sheetOf(finish.OilPolyurethane, drying.Solvent), want: true},
		"alkyd paint, oil its own":    {sheet: sheetOf(finish.NitroLacquer, drying.Oil), want: true},
		"shellac":                     {sheet: sheetOf(finish.Shellac, drying.Solvent)},
		"lacquer":                     {sheet: sheetOf(finish.NitroLacquer, drying.Solvent)},
		"water-borne acrylic":         {sheet: sheetOf(finish.WaterAcrylic, drying.Water)},
		"wax in spirits":              {sheet: sheetOf(finish.Wax, drying.Solvent)},
		"the label says so":           {cautions: []string{"fire", "oily-rags"}, want: true},
		"the label says other things": {cautions: []string{"fire"}},
		"nobody said":                 {},
	} {
		if got := materials.MakesOilyWaste(c.sheet, c.cautions); got != c.want {
			t.Errorf("%s: MakesOilyWaste = %v, want %v", name, got, c.want)
		}
	}
}

// The rags that wipe stain off hold the stain, though the stage takes nothing from a shelf.
func TestTakesUpOthers(t *testing.T) {
	if !materials.TakesUpOthers("wipe_off") || materials.TakesUpOthers("topcoat_coat") {
		t.Error("want it of wipe_off alone")
	}
}

var oilDay = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func denver(t *testing.T) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

func oiled(kind string, at, shiftEnd time.Time) materials.OilyWork {
	return materials.OilyWork{Day: oilDay, Piece: id.New(), Stage: id.New(), StageKind: kind, Person: "Rosa", At: at, ShiftEnd: shiftEnd, Open: true}
}

// At six in the evening by the shop's clock where nobody knows the shift (common practice), at
// its end where somebody does, and never before the work that made the rags.
func TestOilyDay_Due(t *testing.T) {
	zone := denver(t)
	clock := func(hour, minute int) time.Time { return time.Date(2026, 3, 2, hour, minute, 0, 0, zone) }
	for name, c := range map[string]struct {
		work []materials.OilyWork
		want time.Time
	}{
		"nobody said":      {[]materials.OilyWork{oiled("oil_coat", clock(15, 0), time.Time{})}, clock(18, 0)},
		"a shift is known": {[]materials.OilyWork{oiled("oil_coat", clock(15, 0), clock(16, 30))}, clock(16, 30)},
		"the later of two": {[]materials.OilyWork{oiled("oil_coat", clock(9, 0), clock(17, 0)), oiled("oil_coat", clock(13, 0), clock(14, 0))}, clock(17, 0)},
		"work went on":     {[]materials.OilyWork{oiled("oil_coat", clock(19, 40), time.Time{})}, clock(19, 40)},
		"after the shift":  {[]materials.OilyWork{oiled("oil_coat", clock(17, 5), clock(16, 30))}, clock(17, 5)},
	} {
		if got := (materials.OilyDay{Day: oilDay, Work: c.work}).Due(zone); !got.Equal(c.want) {
			t.Errorf("%s: Due = %v, want %v", name, got.In(zone), c.want)
		}
	}
}

// 29 CFR 1910.107(g)(3) and common practice, and never a word that calls it safe.
func TestOilyWasteCaution(t *testing.T) {
	for _, want := range []string{"lidded metal can", "water", "out of the building", "spread each out", "local fire and waste rules", "licensed practice"} {
		if !strings.Contains(materials.OilyWasteCaution, want) {
			t.Errorf("the caution does not say %q", want)
		}
	}
	if strings.Contains(strings.ToLower(materials.OilyWasteCaution+materials.WasteCaution), "safe") {
		t.Error("a caution says that something is safe")
	}
}

// A word that was a mistake is taken back once, with a reason.
func TestOilyCheck_Withdraw(t *testing.T) {
	word := materials.OilyCheck{ID: id.New(), At: oilDay, Way: materials.MetalCan, Actor: "Rosa"}
	if _, err := word.Withdraw(materials.Withdrawn{At: oilDay, By: "Nell"}); !fault.Is(err, "REASON_REQUIRED") {
		t.Errorf("without a reason = %v, want REASON_REQUIRED", err)
	}
	back, err := word.Withdraw(materials.Withdrawn{At: oilDay, Reason: "one can was forgotten", By: "Nell"})
	if err != nil || back.Actor != "Rosa" || back.Withdrawn.By != "Nell" {
		t.Errorf("Withdraw = %+v, %v, want Rosa's word, withdrawn by Nell", back, err)
	}
	if _, err := back.Withdraw(back.Withdrawn); !fault.Is(err, "OILY_WASTE_CHECK_WITHDRAWN") {
		t.Errorf("twice = %v, want OILY_WASTE_CHECK_WITHDRAWN", err)
	}
}

// A day in Denver begins at seven in the morning UTC in winter; the day on which clocks are put
// forward has 23 hours.
func TestBounds(t *testing.T) {
	zone := denver(t)
	if from, to := materials.Bounds(time.Date(2026, 3, 8, 0, 0, 0, 0, time.UTC), zone); to.Sub(from) != 23*time.Hour {
		t.Errorf("Bounds = %v to %v, want 23 h", from, to)
	}
	if got := materials.DayOf(time.Date(2026, 3, 3, 6, 59, 0, 0, time.UTC), zone); !got.Equal(oilDay) {
		t.Errorf("DayOf = %v, want Monday", got)
	}
}
