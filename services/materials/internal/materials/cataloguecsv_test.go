package materials_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
)

var spelling = materials.Spelling{Name: wire.Name, Key: wire.NameKey}

func degrees(v float64) *float64 { return &v }

// spirit has another value in every detail.
func spirit() materials.Details {
	return materials.Details{
		Category: "solvent", Density: 0.789, FlashCelsius: degrees(12.5), BoilingCelsius: degrees(78.3), VOC: degrees(0), ClosedDays: 730, OpenDays: 180, PotLife: 90 * time.Minute,
		Colour: "clear", Sheen: "none", Maker: "Example Spirits", Article: "DS-95", M2PerLitre: 12.5, Hazards: "Flame; highly flammable liquid and vapour",
		Ingredients: "ethanol, denatured", SafetySheet: "binder 3, page 12", SafetySheetDate: time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC),
		Cautions: []string{"fire", "vapour"}, Note: `say "no" to sparks, always`,
	}
}

// shelf is a shop's products, plain ones and odd ones, by name.
func shelf(t *testing.T) []materials.Product {
	t.Helper()
	full := quarts()
	full.Details, full.Threshold, full.Low, full.Sheet = spirit(), decimal.RequireFromString("1.892705892"), true, matt()
	full.Packages = append(full.Packages, materials.Package{Label: `odd; size = "big" \`, Content: decimal.RequireFromString("0.003650793650793650793650793650793")})
	discs := materials.Product{ID: id.New(), Name: "Sanding discs, P150", Unit: unitOf("each"), Details: materials.Details{Category: "abrasive"}}
	cold := materials.Product{ID: id.New(), Name: `=2+5 "acetone"`, Unit: full.Unit, Details: materials.Details{FlashCelsius: degrees(-20), BoilingCelsius: degrees(0), Note: "-- cold"}}
	quoted := materials.Product{ID: id.New(), Name: "'=spared", Unit: full.Unit, Details: materials.Details{Colour: "'twas red", Note: "@home"}}
	wide := materials.Product{ID: id.New(), Name: "Ölfarbe ½ „matt“", Unit: unitOf("g"), Threshold: decimal.NewFromInt(500)}
	return []materials.Product{full, discs, cold, quoted, wide}
}

func byKey(products []materials.Product) map[string]materials.Product {
	known := map[string]materials.Product{}
	for _, p := range products {
		known[wire.NameKey(p.Name)] = p
	}
	return known
}

// imported reads a file into a shop that has some products, and wants nothing rejected.
func imported(t *testing.T, file []byte, known []materials.Product) materials.CataloguePlan {
	t.Helper()
	c, err := materials.ReadCatalogue(file, spelling)
	if err != nil {
		t.Fatalf("ReadCatalogue: %v", err)
	}
	plan, rejected := c.Plan(byKey(known), nil)
	if len(rejected) > 0 {
		t.Fatalf("rejected: %v", rejected)
	}
	return plan
}

func products(plan materials.CataloguePlan) (all []materials.Product) {
	for _, c := range plan.Changes {
		all = append(all, c.Product)
	}
	return all
}

// What was exported changes nothing where it came from, and makes the same shop elsewhere, to
// the byte.
func TestCatalogue_RoundTrip(t *testing.T) {
	mine := shelf(t)
	file := materials.WriteCatalogue(mine)
	if plan := imported(t, file, mine); len(plan.Changes) != 0 || plan.Unchanged != len(mine) {
		t.Errorf("exported and imported, but %+v", plan)
	}
	plan := imported(t, file, nil)
	if plan.Added() != len(mine) {
		t.Errorf("added %d of %d", plan.Added(), len(mine))
	}
	again := materials.WriteCatalogue(products(plan))
	if !bytes.Equal(file, again) {
		t.Errorf("another shop exports (-first +second):\n%s", cmp.Diff(string(file), string(again)))
	}
	ignore := cmp.FilterPath(func(p cmp.Path) bool {
		return strings.HasSuffix(p.String(), "ID") || strings.HasSuffix(p.String(), "Version") || strings.HasSuffix(p.String(), "Low")
	}, cmp.Ignore())
	same := cmp.Options{ignore, cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) }), cmp.Comparer(func(a, b quantity.Unit) bool { return a.Symbol == b.Symbol })}
	if diff := cmp.Diff(mine, products(plan), same); diff != "" {
		t.Errorf("another shop has (-first +second):\n%s", diff)
	}
}

// A program that knows nothing of us reads the file: commas, doubled quotes, CRLF.
func TestWriteCatalogue_IsCSV(t *testing.T) {
	file := materials.WriteCatalogue(shelf(t))
	if bytes.Count(file, []byte("\r\n")) != 6 || bytes.Count(file, []byte("\n")) != 6 {
		t.Errorf("%d lines end in CRLF, want 6 and no others", bytes.Count(file, []byte("\r\n")))
	}
	records, err := csv.NewReader(bytes.NewReader(file)).ReadAll()
	if err != nil || len(records) != 6 || records[0][0] != "name" || records[2][0] != "Sanding discs, P150" {
		t.Errorf("read as %v, %v", records, err)
	}
}

// No text cell begins as a formula does; a number below zero is a number.
func TestWriteCatalogue_NoFormulas(t *testing.T) {
	records, err := csv.NewReader(bytes.NewReader(materials.WriteCatalogue(shelf(t)))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, record := range records[1:] {
		for i, cell := range record {
			if strings.HasPrefix(cell, "=") || strings.HasPrefix(cell, "@") || strings.HasPrefix(cell, "-") && records[0][i] != "flash_point_celsius" {
				t.Errorf("%s is %q, which a spreadsheet computes", records[0][i], cell)
			}
		}
	}
	if acetone := records[3]; acetone[0] != `'=2+5 "acetone"` || acetone[6] != "-20" || acetone[7] != "0" {
		t.Errorf("acetone is written as %q", acetone)
	}
}

func lines(all ...string) []byte { return []byte(strings.Join(all, "\n")) }

func TestReadCatalogue_RefusesFiles(t *testing.T) {
	utf16BOM := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune("name,unit\nWax,g\n")) {
		utf16BOM = append(utf16BOM, byte(u), byte(u>>8))
	}
	for name, c := range map[string]struct {
		file   []byte
		reason string
		says   string
	}{
		"Empty":         {nil, "FILE_EMPTY", "first line"},
		"OnlyBOM":       {[]byte("\ufeff"), "FILE_EMPTY", "first line"},
		"UTF16":         {utf16BOM, "FILE_NOT_TEXT", "UTF-16"},
		"Latin1":        {lines("name,unit", "\xd6lfarbe,L"), "FILE_NOT_TEXT", "Line 2"},
		"NUL":           {lines("name,unit", "Wax,g", "Oil\x00,L"), "FILE_NOT_TEXT", "Line 3"},
		"TenMiB":        {bytes.Repeat([]byte("a"), 10<<20), "FILE_TOO_LARGE", "8 MiB"},
		"UnknownColumn": {lines("name,unit,smell", "Wax,g,fine"), "COLUMN_UNKNOWN", `"smell"`},
		"NoTitle":       {lines("name,unit,", "Wax,g,fine"), "COLUMN_UNKNOWN", `""`},
		"ColumnTwice":   {lines("name,unit,Unit", "Wax,g,g"), "COLUMN_TWICE", `"unit"`},
		"NoNameColumn":  {lines("unit,note", "g,fine"), "COLUMN_MISSING", `"name"`},
		"Semicolons":    {lines("name;unit", "Wax;g"), "COLUMN_UNKNOWN", "commas"},
	} {
		_, err := materials.ReadCatalogue(c.file, spelling)
		if f := fault.Of(err); f == nil || f.Reason != c.reason || !strings.Contains(f.Text, c.says) || !errors.Is(err, fault.Invalid) {
			t.Errorf("%s: %v, want %s with %q", name, err, c.reason, c.says)
		}
	}
}

// rejections reads a file into a shop that has quarts of shellac on hand.
func rejections(t *testing.T, file []byte, inUse ...materials.InUse) []materials.Rejection {
	t.Helper()
	p := quarts()
	p.OnHand, p.Value = decimal.NewFromInt(3), 30_00
	c, err := materials.ReadCatalogue(file, spelling)
	if err != nil {
		t.Fatal(err)
	}
	plan, rejected := c.Plan(byKey([]materials.Product{p}), map[id.ID][]materials.InUse{p.ID: inUse})
	if len(rejected) > 0 && len(plan.Changes) > 0 {
		t.Errorf("%d products would change beside what was rejected", len(plan.Changes))
	}
	return rejected
}

func TestCatalogue_Plan_RejectsRows(t *testing.T) {
	for name, c := range map[string]struct {
		file   []byte
		row    int
		column string
		says   string
	}{
		"TooFewCells":     {lines("name,unit", "Wax"), 2, "", "1 cells"},
		"TooManyCells":    {lines("name,unit", "Wax,g", "Oil,L,L"), 3, "", "3 cells"},
		"UnclosedQuote":   {lines("name,unit", "Wax,g", `"Oil,L`, "Discs,each"), 3, "", "quotes"},
		"QuoteInside":     {lines("name,unit", `2" brush,each`), 2, "", "quote"},
		"NoName":          {lines("name,unit", " ,g"), 2, "name", "no name"},
		"NameTwice":       {lines("name,unit", "Paste wax,g", "Oil,L", "paste  WAX,g"), 4, "name", "row 2"},
		"LongName":        {lines("name,unit", strings.Repeat("x", 121)+",g"), 2, "name", "121"},
		"TabInName":       {lines("name,unit", "Paste\twax,g"), 2, "name", "one line"},
		"LineInName":      {lines("name,unit", "\"Paste\nwax\",g"), 2, "name", "one line"},
		"NoUnitForNew":    {lines("name,note", "Wax,fine"), 2, "unit", "needs a unit"},
		"UnknownUnit":     {lines("name,unit", "Wax,bucket"), 2, "unit", `"bucket"`},
		"OtherUnit":       {lines("name,unit", "Dewaxed shellac,g"), 2, "unit", "counted in L"},
		"PackageInGrams":  {lines("name,unit,packages", "Oil,L,can=1 kg"), 2, "packages", "kg"},
		"PackageNoUnit":   {lines("name,unit,packages", "Oil,L,can=1"), 2, "packages", "a unit"},
		"PackageComma":    {lines("name,unit,packages", `Oil,L,"can=0,5 L"`), 2, "packages", "point"},
		"PackageOfZero":   {lines("name,unit,packages", "Oil,L,can=0 L"), 2, "packages", "above zero"},
		"PackageNoLabel":  {lines("name,unit,packages", "Oil,L,=1 L"), 2, "packages", "label"},
		"PackageBare":     {lines("name,unit,packages", "Oil,L,1 L"), 2, "packages", "label"},
		"PackageTwice":    {lines("name,unit,packages", "Oil,L,can=1 L; CAN=2 L"), 2, "packages", "label"},
		"PackageAbsurd":   {lines("name,unit,packages", "Oil,L,lake=1000001 L"), 2, "packages", "1000001"},
		"PackagesMany":    {lines("name,unit,packages", "Oil,L,"+strings.Repeat("x=1 L;", 31)), 2, "packages", "31 packages"},
		"ThresholdBelow":  {lines("name,unit,restock_threshold", "Oil,L,-1 L"), 2, "restock_threshold", "number"},
		"CommaDecimal":    {lines("name,unit,density_grams_per_ml", `Oil,L,"0,9"`), 2, "density_grams_per_ml", "point"},
		"ScientificOne":   {lines("name,unit,density_grams_per_ml", "Oil,L,9e-1"), 2, "density_grams_per_ml", "point"},
		"NaN":             {lines("name,unit,flash_point_celsius", "Oil,L,NaN"), 2, "flash_point_celsius", "point"},
		"Infinity":        {lines("name,unit,flash_point_celsius", "Oil,L,Inf"), 2, "flash_point_celsius", "point"},
		"AbsurdDensity":   {lines("name,unit,density_grams_per_ml", "Oil,L,789"), 2, "density_grams_per_ml", "5 g/mL"},
		"DaysBelowZero":   {lines("name,unit,keeps_open_days", "Oil,L,-3"), 2, "keeps_open_days", "whole number"},
		"HalfADay":        {lines("name,unit,keeps_open_days", "Oil,L,1.5"), 2, "keeps_open_days", "whole number"},
		"AmericanDay":     {lines("name,unit,safety_sheet_date", "Oil,L,11/03/2025"), 2, "safety_sheet_date", "2026-03-02"},
		"NoSuchDay":       {lines("name,unit,safety_sheet_date", "Oil,L,2025-02-30"), 2, "safety_sheet_date", "2026-03-02"},
		"UnknownCaution":  {lines("name,unit,cautions", "Oil,L,vapour; bite"), 2, "cautions", `"bite"`},
		"Maybe":           {lines("name,unit,light", "Oil,L,maybe"), 2, "light", "yes or no"},
		"SheetNoFamily":   {lines("name,unit,recoat_minutes", "Oil,L,240"), 2, "family", "family"},
		"UnknownFamily":   {lines("name,unit,family,dry_film_um,volume_solids_percent,carrier,recoat_minutes,cure_minutes", "Oil,L,jam,30,40,water,240,10000"), 2, "family", `"jam"`},
		"SolidsOf140":     {lines("name,unit,family,dry_film_um,volume_solids_percent,carrier,recoat_minutes,cure_minutes", "Oil,L,latex paint,30,140,water,240,10000"), 2, "volume_solids_percent", "100"},
		"CureBeforeCoat":  {lines("name,unit,family,dry_film_um,volume_solids_percent,carrier,recoat_minutes,cure_minutes", "Oil,L,latex paint,30,40,water,240,1"), 2, "", "cured"},
		"OfferedIsGone":   {lines("name,packages", "Dewaxed shellac,gallon=1 gal"), 2, "packages", "Paint store"},
		"OfferedIsLarger": {lines("name,packages", "Dewaxed shellac,quart can=1 L"), 2, "packages", "Paint store"},
	} {
		t.Run(name, func(t *testing.T) {
			all := rejections(t, c.file, materials.InUse{Label: "quart can", Content: decimal.RequireFromString("0.946352946"), Supplier: "Paint store"})
			if len(all) != 1 || all[0].Row != c.row || all[0].Column != c.column || !strings.Contains(all[0].Reason, c.says) || !strings.HasSuffix(all[0].Reason, ".") {
				t.Errorf("rejected %+v, want row %d, column %q, with %q", all, c.row, c.column, c.says)
			}
		})
	}
}

// Every cell that is wrong is told, in the order of the rows and columns, and a row that ends
// the file comes where it stands.
func TestCatalogue_Plan_TellsAllThatIsWrong(t *testing.T) {
	all := rejections(t, lines("note,density_grams_per_ml,name,unit", "x,heavy,Oil,bucket", "x,,Wax,g", "x,,,g", "x,0.9,Thinner", "x,light,Soap,L"))
	var told []string
	for _, r := range all {
		told = append(told, fmt.Sprintf("%d %s", r.Row, r.Column))
	}
	if want := "2 unit|2 density_grams_per_ml|4 name|5 |6 density_grams_per_ml"; strings.Join(told, "|") != want {
		t.Errorf("told %s, want %s", strings.Join(told, "|"), want)
	}
}

// As people make files: a BOM, capitals, blanks, empty rows, columns in their own order.
func TestCatalogue_Plan_AsPeopleWriteThem(t *testing.T) {
	file := []byte("\ufeffUnit, Name ,packages,light,restock_threshold,category\r\n" +
		"gal, Danish  oil ,\" quart can = 1 qt ;gallon=1gal; \",,0.5 gal,FINISH\r\n,,,,,\r\n\r\nlb,Rottenstone,,no,,\r\n")
	plan := imported(t, file, nil)
	if len(plan.Changes) != 2 || plan.Added() != 2 {
		t.Fatalf("plan = %+v", plan)
	}
	oil, stone := plan.Changes[0].Product, plan.Changes[1].Product
	if oil.Name != "Danish oil" || oil.Unit.Symbol != "L" || oil.Threshold.String() != "1.892705892" || oil.Category != "finish" || len(oil.Packages) != 2 ||
		oil.Packages[0] != (materials.Package{Label: "quart can", Content: oil.Packages[0].Content}) || oil.Packages[1].Content.String() != "3.785411784" {
		t.Errorf("oil = %+v", oil)
	}
	if factsOf(plan.Changes[0].Facts) != "Added ThresholdSet FellLow Described" || oil.Version != 4 {
		t.Errorf("facts = %s of version %d", factsOf(plan.Changes[0].Facts), oil.Version)
	}
	if stone.Unit.Symbol != "g" || stone.Sheet != nil || factsOf(plan.Changes[1].Facts) != "Added" {
		t.Errorf("rottenstone = %+v", stone)
	}
}

// A label may have the signs that part labels, with a backslash or where nobody can mistake
// them; a sheet that does not say how the coating is put on means the brush.
func TestCatalogue_Plan_WhatCanBeMeant(t *testing.T) {
	plan := imported(t, lines("name,unit,packages,family,carrier,recoat_minutes,cure_minutes", `Tung oil,L,1/2=half=1 pt; a\;b=1 L,Drying Oil,OIL,1440,43200`), nil)
	p := plan.Changes[0].Product
	if len(p.Packages) != 2 || p.Packages[0].Label != "1/2=half" || p.Packages[1].Label != "a;b" {
		t.Errorf("packages = %+v", p.Packages)
	}
	if p.Sheet == nil || p.Sheet.Method != coating.Brush || p.Sheet.Family != finish.DryingOil || p.Sheet.Carrier != drying.Oil || factsOf(plan.Changes[0].Facts) != "Added SheetSet" {
		t.Errorf("sheet = %+v of %s", p.Sheet, factsOf(plan.Changes[0].Facts))
	}
}

// A column that is left out leaves what is known; an empty cell takes it away.
func TestCatalogue_Plan_ChangesWhatItSays(t *testing.T) {
	mine := shelf(t)
	for name, c := range map[string]struct {
		file  []byte
		facts string
		holds func(p materials.Product) bool
	}{
		"Nothing":       {lines("name,unit", "Dewaxed shellac,qt"), "", nil},
		"Threshold":     {lines("name,restock_threshold", "Dewaxed shellac,3 L"), "ThresholdSet", func(p materials.Product) bool { return p.Threshold.String() == "3" && p.Maker != "" }},
		"NoThreshold":   {lines("name,restock_threshold", "Dewaxed shellac,"), "ThresholdSet", func(p materials.Product) bool { return p.Threshold.IsZero() }},
		"Note":          {lines("name,note", "Dewaxed shellac,new"), "Described", func(p materials.Product) bool { return p.Note == "new" && p.Maker != "" && len(p.Packages) == 2 }},
		"NoFlash":       {lines("name,flash_point_celsius", "Dewaxed shellac,"), "Described", func(p materials.Product) bool { return p.FlashCelsius == nil && *p.BoilingCelsius == 78.3 }},
		"NoCautions":    {lines("name,cautions", "Dewaxed shellac,"), "Described", func(p materials.Product) bool { return len(p.Cautions) == 0 }},
		"Spelling":      {lines("name", "Dewaxed Shellac"), "Described", func(p materials.Product) bool { return p.Name == "Dewaxed Shellac" }},
		"MorePackages":  {lines("name,packages", "Dewaxed shellac,cup=1 cup"), "Described", func(p materials.Product) bool { return len(p.Packages) == 1 && p.Sheet != nil }},
		"OneSheetWord":  {lines("name,cure_minutes", "Dewaxed shellac,30000"), "SheetSet", func(p materials.Product) bool { return p.Sheet.Cure == 500*time.Hour && p.Sheet.SolidsPercent == 38 }},
		"AllAtOnce":     {lines("name,cure_minutes,note,restock_threshold", "Dewaxed shellac,30000,new,"), "ThresholdSet SheetSet Described", func(p materials.Product) bool { return p.Version == 3 }},
		"FormulaInNote": {lines("name,note", "Dewaxed shellac,'=1+1"), "Described", func(p materials.Product) bool { return p.Note == "=1+1" }},
	} {
		t.Run(name, func(t *testing.T) {
			plan := imported(t, c.file, mine)
			if c.facts == "" {
				if len(plan.Changes) != 0 || plan.Unchanged != 1 {
					t.Errorf("plan = %+v, want nothing changed", plan)
				}
				return
			}
			if len(plan.Changes) != 1 || plan.Changes[0].New || factsOf(plan.Changes[0].Facts) != c.facts || !c.holds(plan.Changes[0].Product) {
				t.Errorf("plan = %+v", plan)
			}
		})
	}
	if mine[0].Sheet.Cure != matt().Cure {
		t.Error("a plan that is not kept changed the sheet of a product")
	}
}

// Whatever is taken round-trips; whatever comes in, nothing panics.
func FuzzImportProducts(f *testing.F) {
	f.Add([]byte("name,unit,packages,note\nOil,L,\"can=1 qt; x\\;y=2 L\",'=1+1\n"))
	f.Add([]byte("name,unit,family,dry_film_um,volume_solids_percent,carrier,recoat_minutes,cure_minutes,light\nPaint,L,latex paint,30,40,water,240,10000,yes\n"))
	f.Add([]byte("name,unit,flash_point_celsius,cautions,safety_sheet_date,category\r\n\"a \"\"b\"\"\",g,-20.5,fire; vapour,2025-11-03,İ\r\n"))
	f.Add([]byte("\ufeffname,unit\n'''=x,each\n"))
	f.Fuzz(roundTrips)
}

// The same of a file that is one, with odd cells.
func FuzzImportProducts_Cells(f *testing.F) {
	f.Add("Oil", "L", `a\;b=1 qt; c=2.5 L`, "1 gal", "'=1+1", "0.9", "-20", "fire;vapour", "drying oil", "240", "no", "2025-11-03")
	f.Add("'+x", "each", "=1=1 pack", "", "@", "", "0", "", "", "0", "", "")
	f.Add("\u212b\u0301 ", "lb", "\\==1 g", "5 oz", "-", "1", "400", "dust", "Wax", "00060", "YES", "1970-01-01")
	f.Fuzz(func(t *testing.T, name, unit, packages, threshold, text, density, flash, cautions, family, minutes, yes, day string) {
		var file bytes.Buffer
		w := csv.NewWriter(&file)
		carrier, dries := "solvent", minutes
		if family == "" {
			carrier, dries = "", ""
		}
		for _, record := range [][]string{
			{"name", "unit", "packages", "restock_threshold", "note", "category", "density_grams_per_ml", "flash_point_celsius", "cautions", "family", "carrier",
				"recoat_minutes", "cure_minutes", "pot_life_minutes", "light", "safety_sheet_date"},
			{name, unit, packages, threshold, text, text, density, flash, cautions, family, carrier, dries, dries, minutes, yes, day},
		} {
			if err := w.Write(record); err != nil {
				t.Fatal(err)
			}
		}
		w.Flush()
		roundTrips(t, file.Bytes())
	})
}

// roundTrips checks of a file that is taken that what was made of it is exported and imported
// again without a change.
func roundTrips(t *testing.T, file []byte) {
	c, err := materials.ReadCatalogue(file, spelling)
	if err != nil {
		return
	}
	plan, rejected := c.Plan(nil, nil)
	for _, r := range rejected {
		if r.Row < 1 || r.Reason == "" {
			t.Errorf("rejected without a row or a reason: %+v", r)
		}
	}
	if len(rejected) > 0 {
		return
	}
	mine := products(plan)
	once := materials.WriteCatalogue(mine)
	if plan := imported(t, once, mine); len(plan.Changes) != 0 {
		t.Errorf("%q says something else when exported: %+v", file, plan.Changes)
	}
	if twice := materials.WriteCatalogue(products(imported(t, once, nil))); !bytes.Equal(once, twice) {
		t.Errorf("%q is exported as\n%s and then as\n%s", file, once, twice)
	}
}

// large is a file of many products with all there is to say.
func large(rows int) []byte {
	p := materials.Product{Unit: quarts().Unit, Details: spirit(), Sheet: matt(), Threshold: decimal.NewFromInt(2), Packages: quarts().Packages}
	all := make([]materials.Product, rows)
	for i := range all {
		all[i] = p
		all[i].Name = fmt.Sprintf("Product %06d", i)
	}
	return materials.WriteCatalogue(all)
}

// Twenty thousand full rows are read and compared well within two seconds.
func BenchmarkCatalogue(b *testing.B) {
	file := large(20_000)
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		c, err := materials.ReadCatalogue(file, spelling)
		if err != nil {
			b.Fatal(err)
		}
		if plan, rejected := c.Plan(nil, nil); len(rejected) > 0 || plan.Added() != 20_000 {
			b.Fatal("not all were taken")
		}
	}
}
