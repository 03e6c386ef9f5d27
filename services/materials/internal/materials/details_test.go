package materials_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
)

func unitOf(symbol string) quantity.Unit {
	u, err := quantity.UnitOf(symbol)
	if err != nil {
		panic(err)
	}
	return u
}

// quarts is a product that is counted in litres and sold in quarts.
func quarts() materials.Product {
	return materials.Product{ID: id.New(), Name: "Dewaxed shellac", Unit: unitOf("L"),
		Packages: []materials.Package{{Label: "quart can", Content: decimal.RequireFromString("0.946352946")}}}
}

// matt is as a water-borne paint may have it.
func matt() *datasheet.Sheet {
	return &datasheet.Sheet{
		Family: finish.WaterAcrylic, Carrier: drying.Water, Light: true, Method: coating.Brush, SolidsPercent: 38, DryFilmUm: 35,
		SetToTouch: 30 * time.Minute, TackFree: time.Hour, Sand: 3 * time.Hour, Recoat: 4 * time.Hour, RecoatCloses: 72 * time.Hour, Cure: 14 * 24 * time.Hour,
		MinCelsius: 10, MaxCelsius: 32, MaxHumidity: 80, VOCGramsPerLitre: 45,
	}
}

// factsOf writes facts as "Added ThresholdSet".
func factsOf(facts []materials.Fact) string {
	var names []string
	for _, f := range facts {
		names = append(names, strings.TrimPrefix(fmt.Sprintf("%T", f), "materials."))
	}
	return strings.Join(names, " ")
}

func TestProduct_Describe(t *testing.T) {
	p := quarts()
	facts, err := p.Describe(spirit())
	if err != nil || factsOf(facts) != "Described" || p.Version != 1 || p.Maker != "Example Spirits" || p.Empty() {
		t.Errorf("Describe = %s, %v, and leaves %+v", factsOf(facts), err, p)
	}
	if facts, err = p.Describe(materials.Details{}); err != nil || factsOf(facts) != "Described" || p.Version != 2 || !p.Empty() {
		t.Errorf("Describe with nothing = %s, %v, and leaves %+v", factsOf(facts), err, p)
	}
}

// A slip of the point, another unit, or no number at all is told at its field, and what was
// known stays.
func TestProduct_Describe_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		spoil         func(*materials.Details)
		reason, field string
	}{
		"KgPerM3":        {func(d *materials.Details) { d.Density = 789 }, "OUT_OF_RANGE", "density_grams_per_ml"},
		"Foam":           {func(d *materials.Details) { d.Density = 0.29 }, "OUT_OF_RANGE", "density_grams_per_ml"},
		"DensityNaN":     {func(d *materials.Details) { d.Density = math.NaN() }, "OUT_OF_RANGE", "density_grams_per_ml"},
		"FlashNaN":       {func(d *materials.Details) { d.FlashCelsius = degrees(math.NaN()) }, "OUT_OF_RANGE", "flash_point_celsius"},
		"FlashTooCold":   {func(d *materials.Details) { d.FlashCelsius = degrees(-111) }, "OUT_OF_RANGE", "flash_point_celsius"},
		"BoilsNever":     {func(d *materials.Details) { d.BoilingCelsius = degrees(math.Inf(1)) }, "OUT_OF_RANGE", "boiling_point_celsius"},
		"HeavierThanAny": {func(d *materials.Details) { d.VOC = degrees(2001) }, "OUT_OF_RANGE", "voc_grams_per_litre"},
		"KeepsAgesCan":   {func(d *materials.Details) { d.ClosedDays = 36501 }, "OUT_OF_RANGE", "keeps_closed_days"},
		"OpenBelowZero":  {func(d *materials.Details) { d.OpenDays = -1 }, "OUT_OF_RANGE", "keeps_open_days"},
		"PotLifeOfAges":  {func(d *materials.Details) { d.PotLife = 31 * 24 * time.Hour }, "OUT_OF_RANGE", "pot_life_minutes"},
		"SpreadsForMile": {func(d *materials.Details) { d.M2PerLitre = 101 }, "OUT_OF_RANGE", "square_metres_per_litre"},
		"SheetTooOld":    {func(d *materials.Details) { d.SafetySheetDate = time.Date(1969, 12, 31, 0, 0, 0, 0, time.UTC) }, "OUT_OF_RANGE", "safety_sheet_date"},
		"LongNote":       {func(d *materials.Details) { d.Note = strings.Repeat("ä", 1001) }, "TEXT_TOO_LONG", "note"},
		"NoSuchCaution":  {func(d *materials.Details) { d.Cautions = []string{"fire", "bite"} }, "CAUTION_UNKNOWN", "cautions[1]"},
		"CautionTwice":   {func(d *materials.Details) { d.Cautions = []string{"fire", "fire"} }, "CAUTION_TWICE", "cautions[1]"},
	} {
		t.Run(name, func(t *testing.T) {
			p, d := quarts(), spirit()
			p.Details = spirit()
			c.spoil(&d)
			facts, err := p.Describe(d)
			if f := fault.Of(err); f == nil || f.Reason != c.reason || f.Fields[0].Path != "details."+c.field || facts != nil {
				t.Errorf("Describe = %s, %v, want %s at %s", factsOf(facts), err, c.reason, c.field)
			}
			if p.Density != spirit().Density || p.Note != spirit().Note || p.Version != 0 {
				t.Errorf("refused, but left %+v", p)
			}
		})
	}
}

// An opened can keeps for a shorter time, but opening an old can makes it no younger.
func TestProduct_Expires(t *testing.T) {
	came := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	day := 24 * time.Hour
	both, closedOnly, openOnly, neither := quarts(), quarts(), quarts(), quarts()
	both.ClosedDays, both.OpenDays, closedOnly.ClosedDays, openOnly.OpenDays = 365, 90, 365, 90
	if got := both.ExpiresClosed(came); !got.Equal(came.Add(365 * day)) {
		t.Errorf("closed: %s", got)
	}
	if got := neither.ExpiresClosed(came); !got.IsZero() {
		t.Errorf("nobody knows, but %s", got)
	}
	if got := both.ExpiresClosed(time.Time{}); !got.IsZero() {
		t.Errorf("it came in nobody knows when, but expires at %s", got)
	}
	for name, c := range map[string]struct {
		p                  materials.Product
		opened             time.Duration
		closed, wantOpened time.Time
	}{
		"Soon":            {both, 10 * day, both.ExpiresClosed(came), came.Add(100 * day)},
		"Late":            {both, 300 * day, both.ExpiresClosed(came), came.Add(365 * day)},
		"KnowsClosedOnly": {closedOnly, 10 * day, closedOnly.ExpiresClosed(came), came.Add(365 * day)},
		"KnowsOpenOnly":   {openOnly, 10 * day, time.Time{}, came.Add(100 * day)},
		"KnowsNeither":    {neither, 10 * day, time.Time{}, time.Time{}},
		"LabelSaysSooner": {both, 10 * day, came.Add(20 * day), came.Add(20 * day)},
	} {
		if got := c.p.ExpiresOpened(came.Add(c.opened), c.closed); !got.Equal(c.wantOpened) {
			t.Errorf("%s: opened, it expires at %s, want %s", name, got, c.wantOpened)
		}
	}
}

func TestProduct_SetPackages(t *testing.T) {
	p := quarts()
	inUse := []materials.InUse{{Label: "quart can", Content: p.Packages[0].Content, Supplier: "Paint store"}}
	more := append(p.Packages[:1:1], materials.Package{Label: "drum", Content: decimal.NewFromInt(200)})
	if facts, err := p.SetPackages(more, inUse); err != nil || factsOf(facts) != "Described" || len(p.Packages) != 2 || p.Version != 1 {
		t.Errorf("SetPackages = %s, %v, and leaves %+v", factsOf(facts), err, p)
	}
	for name, c := range map[string]struct {
		packages []materials.Package
		reason   string
	}{
		"Gone":      {nil, "PACKAGE_IN_USE"},
		"Larger":    {[]materials.Package{{Label: "quart can", Content: decimal.NewFromInt(1)}}, "PACKAGE_IN_USE"},
		"Respelt":   {[]materials.Package{{Label: "Quart can", Content: inUse[0].Content}}, "PACKAGE_IN_USE"},
		"SameTwice": {append(more[:2:2], materials.Package{Label: "DRUM", Content: decimal.NewFromInt(1)}), "PACKAGE_LABEL_TWICE"},
	} {
		if facts, err := p.SetPackages(c.packages, inUse); !fault.Is(err, c.reason) || facts != nil || len(p.Packages) != 2 || p.Version != 1 {
			t.Errorf("%s: SetPackages = %s, %v, and leaves %+v", name, factsOf(facts), err, p)
		}
	}
	if _, err := p.SetPackages(nil, nil); err != nil || len(p.Packages) != 0 {
		t.Errorf("SetPackages to none that nobody offers = %v", err)
	}
}
