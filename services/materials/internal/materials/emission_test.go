package materials_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
	"tackfree/services/materials/internal/materials"
)

// gramsPerLitre is 1 lb/US gal.
const gramsPerLitre = 119.8264

func stated(gramsALitre float64) *float64 { return &gramsALitre }

func used(name, unit, quantity string) materials.Used {
	return materials.Used{ProductName: name, Unit: unit, Quantity: decimal.RequireFromString(quantity), Coating: true}
}

// let checks what a single product let go.
func let(t *testing.T, u materials.Used) materials.Emission {
	t.Helper()
	got, err := materials.Emissions([]materials.Used{u})
	if err != nil || len(got) != 1 {
		t.Fatalf("Emissions(%+v) = %v, %v, want one", u, got, err)
	}
	return got[0]
}

// A paint consultant's answer of 2004: a coating of 8.52 lb/gal with 20.8 % solids and 53.0 % water
// has 2.232 lb/gal actual, and 4.87 lb/gal (584 g/L) less water. The record of emissions goes by the
// actual one: 10 gal let go 22.32 lb, which are 10,124 g.
func TestEmissions_ActualBasis(t *testing.T) {
	voc, err := coating.Formula{DensityGL: 8.52 * gramsPerLitre, SolidsPercent: 20.8, WaterPercent: 53}.VOC()
	if err != nil || math.Abs(voc.Actual-267.5) > 0.1 || math.Abs(voc.LessWater-584) > 1 {
		t.Fatalf("VOC = %+v, %v, want 267.5 and 584 g/L", voc, err)
	}
	u := used("Water-borne lacquer", "L", "37.85411784")
	u.VOC = &voc.Actual
	if got := let(t, u); !got.Known || got.Solvent || math.Abs(got.Grams-22.32*453.59237) > 5 {
		t.Errorf("10 gal let go %v g, want 22.32 lb", got.Grams)
	}
}

// A coatings maker's formula II: 0.332 lb/gal actual, 39.8 g/L; 5 L let go 198.9 g.
func TestEmissions_LowVOC(t *testing.T) {
	u := used("Water-borne stain", "L", "5")
	u.VOC = stated(0.332 * gramsPerLitre)
	if got := let(t, u); math.Abs(got.Grams-198.9) > 0.1 {
		t.Errorf("5 L let go %v g, want 198.9", got.Grams)
	}
}

// Nobody stated it: that is not nothing.
func TestEmissions_NotStated(t *testing.T) {
	if got := let(t, used("Old varnish", "L", "2")); got.Known || got.Grams != 0 {
		t.Errorf("= %+v, want unknown", got)
	}
}

// A dye without a film has no data sheet; what its maker states counts, and 0 is a figure too.
func TestEmissions_StatedAsNone(t *testing.T) {
	dye := materials.Used{ProductName: "Water dye", Unit: "L", Quantity: decimal.New(2, 0), VOC: stated(0)}
	if got := let(t, dye); !got.Known || got.Grams != 0 {
		t.Errorf("of 0 g/L = %+v, want nothing, and known", got)
	}
	powder := materials.Used{ProductName: "Stain in a can", Unit: "each", Quantity: decimal.New(2, 0), VOC: stated(300)}
	if got := let(t, powder); got.Known {
		t.Errorf("of cans = %+v, want unknown", got)
	}
}

// What counts found missing is let go too, apart from what was noted; a total without something
// says so.
func TestSumEmissions(t *testing.T) {
	lacquer, thinner := used("Lacquer", "L", "2"), used("Thinner", "L", "1")
	lacquer.VOC, thinner.VOC, thinner.Density = stated(500), stated(820), 0.82
	missing, old := lacquer, used("Old varnish", "L", "1")
	missing.Missing, missing.Quantity = true, decimal.New(1, 0)
	sum := func(used ...materials.Used) materials.Emitted {
		emissions, err := materials.Emissions(used)
		if err != nil {
			t.Fatal(err)
		}
		return materials.SumEmissions(emissions)
	}
	if got := sum(lacquer, thinner, missing); got != (materials.Emitted{Coatings: 1000, Solvents: 820, Missing: 500}) || got.Total() != 2320 || got.Text() != "" {
		t.Errorf("sum = %+v, want 1000, 820 and 500 g", got)
	}
	if got := sum(lacquer, old); !got.Incomplete || !strings.Contains(got.Text(), "incomplete") {
		t.Errorf("with what nobody stated = %+v, want it incomplete", got)
	}
}

// A litre of solvent lets go all that it weighs; density of lacquer thinner from memory.
func TestEmissions_Solvents(t *testing.T) {
	thinner := materials.Used{ProductName: "Lacquer thinner", Unit: "L", Quantity: decimal.New(2, 0), Category: "solvent", Density: 0.82}
	if got := let(t, thinner); !got.Solvent || !got.Known || math.Abs(got.Grams-1640) > 1e-9 {
		t.Errorf("2 L of thinner = %+v, want 1640 g of solvent", got)
	}
	thinner.Density = 0
	if got := let(t, thinner); !got.Solvent || got.Known {
		t.Errorf("of no known density = %+v, want unknown", got)
	}
	spirits := used("Mineral spirits", "L", "1")
	spirits.VOC, spirits.Density = stated(780), 0.78
	if got := let(t, spirits); !got.Solvent || got.Grams != 780 {
		t.Errorf("VOC as high as the density = %+v, want a solvent", got)
	}
	lacquer := used("Lacquer", "L", "1")
	lacquer.VOC, lacquer.Density = stated(680), 0.92
	if got := let(t, lacquer); got.Solvent {
		t.Errorf("a lacquer = %+v, want a coating", got)
	}
}

// Paste wax is counted by mass: 920 g of 0.92 g/mL are a litre. Without a density nobody knows.
func TestEmissions_CountedByMass(t *testing.T) {
	wax := used("Paste wax", "g", "920")
	wax.VOC, wax.Density = stated(450), 0.92
	if got := let(t, wax); !got.Known || math.Abs(got.Grams-450) > 1e-9 {
		t.Errorf("a litre of wax = %+v, want 450 g", got)
	}
	wax.Density = 0
	if got := let(t, wax); got.Known {
		t.Errorf("of no known density = %+v, want unknown", got)
	}
}

// Abrasives and hardware let go nothing and are not unknown.
func TestEmissions_NoLiquid(t *testing.T) {
	got, err := materials.Emissions([]materials.Used{
		{ProductName: "Disc P150", Unit: "each", Quantity: decimal.New(40, 0)}, {ProductName: "Plaster", Unit: "g", Quantity: decimal.New(400, 0)}})
	if err != nil || len(got) != 0 {
		t.Errorf("Emissions = %v, %v, want none", got, err)
	}
}

// Two weeks after the clocks were put forward in Denver, March 2026 has 743 hours.
func TestMonth(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	from, to, err := materials.Month(2026, 3, denver)
	if err != nil || to.Sub(from) != 743*time.Hour || !from.Equal(time.Date(2026, 3, 1, 7, 0, 0, 0, time.UTC)) {
		t.Errorf("Month = %v to %v, %v", from, to, err)
	}
	for _, bad := range [][2]int32{{2026, 0}, {2026, 13}, {1999, 12}, {2100, 1}} {
		if _, _, err := materials.Month(bad[0], bad[1], denver); !fault.Is(err, "MONTH_MALFORMED") {
			t.Errorf("Month(%v) = %v, want MONTH_MALFORMED", bad, err)
		}
	}
}

// A name that a spreadsheet would compute is shown instead, quotes are doubled, lines end in CRLF.
func TestEmissionTable(t *testing.T) {
	got := materials.EmissionTable("2026-03", []materials.Emission{
		{Used: used(`Stain "walnut", quick`, "L", "1.5"), Known: true, VOC: 550, Grams: 825},
		{Used: used("=1+1", "L", "2"), Solvent: true},
		{Used: materials.Used{ProductName: "Lacquer", Unit: "L", Quantity: decimal.New(1, 0), Missing: true}, Known: true, VOC: 500, Grams: 500},
	})
	want := "month,product,kind,used,unit,voc_g_per_l,voc_g\r\n" +
		"2026-03,\"Stain \"\"walnut\"\", quick\",coating,1.5,L,550.000,825.000\r\n" +
		"2026-03,'=1+1,solvent,2,L,not stated,unknown\r\n" +
		"2026-03,Lacquer,missing at a count,1,L,500.000,500.000\r\n"
	if got != want {
		t.Errorf("EmissionTable =\n%q, want\n%q", got, want)
	}
	if strings.Contains(strings.ToLower(materials.EmissionCaution), "safe") {
		t.Error("the caution says that something is safe")
	}
}
