package materials_test

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
	"tackfree/services/materials/internal/materials"
)

func celsiusOf(c float64) *float64 { return &c }

// The edges are those of 29 CFR 1910.106(a)(19), as revised in 2012: 73.4 °F (23 °C), 95 °F
// (35 °C), 140 °F (60 °C) and 199.4 °F (93 °C). Flash and boiling points of the products are
// from memory.
func TestLiquid_Category(t *testing.T) {
	for name, c := range map[string]struct {
		liquid materials.Liquid
		want   materials.FlammableCategory
	}{
		"diethyl ether":               {materials.Liquid{FlashPoint: celsiusOf(-45), BoilingPoint: celsiusOf(34.6)}, 1},
		"boils at 35 °C":              {materials.Liquid{FlashPoint: celsiusOf(22.9), BoilingPoint: celsiusOf(35)}, 1},
		"boils just above":            {materials.Liquid{FlashPoint: celsiusOf(22.9), BoilingPoint: celsiusOf(35.1)}, 2},
		"acetone":                     {materials.Liquid{FlashPoint: celsiusOf(-20), BoilingPoint: celsiusOf(56)}, 2},
		"boiling point not said":      {materials.Liquid{FlashPoint: celsiusOf(-20)}, 1},
		"at 23 °C":                    {materials.Liquid{FlashPoint: celsiusOf(23), BoilingPoint: celsiusOf(30)}, 3},
		"mineral spirits":             {materials.Liquid{FlashPoint: celsiusOf(40)}, 3},
		"60 °C exactly":               {materials.Liquid{FlashPoint: celsiusOf(60)}, 3},
		"just above 60 °C":            {materials.Liquid{FlashPoint: celsiusOf(60.1)}, 4},
		"93 °C exactly":               {materials.Liquid{FlashPoint: celsiusOf(93)}, 4},
		"just above 93 °C":            {materials.Liquid{FlashPoint: celsiusOf(93.1)}, materials.NotFlammable},
		"linseed oil":                 {materials.Liquid{FlashPoint: celsiusOf(222)}, materials.NotFlammable},
		"freezing point of water":     {materials.Liquid{FlashPoint: celsiusOf(0), BoilingPoint: celsiusOf(80)}, 2},
		"flash point not said":        {materials.Liquid{BoilingPoint: celsiusOf(80)}, materials.CategoryUnknown},
		"water-borne":                 {materials.Liquid{WaterBorne: true}, materials.NotFlammable},
		"water-borne with much ether": {materials.Liquid{FlashPoint: celsiusOf(50), WaterBorne: true}, 3},
	} {
		if got := c.liquid.Category(); got != c.want {
			t.Errorf("%s: Category() = %d, want %d", name, got, c.want)
		}
	}
}

var (
	lacquerThinner = materials.Liquid{FlashPoint: celsiusOf(-10), BoilingPoint: celsiusOf(80)} // category 2
	ether          = materials.Liquid{FlashPoint: celsiusOf(-45), BoilingPoint: celsiusOf(34.6)}
	spirits        = materials.Liquid{FlashPoint: celsiusOf(40), BoilingPoint: celsiusOf(150)}
	glycolCleaner  = materials.Liquid{FlashPoint: celsiusOf(80), BoilingPoint: celsiusOf(190)}
	rack           = materials.StoragePlace{Word: "rack", Name: "Rack", Kind: materials.OpenPlace}
	yellow         = materials.StoragePlace{Word: "yellow-cabinet", Name: "Yellow cabinet", Kind: materials.Cabinet}
)

// gallons of a liquid stand at a place.
func gallons(n string, of materials.Liquid, at materials.StoragePlace) materials.Stored {
	litres := decimal.RequireFromString(n).Mul(decimal.RequireFromString("3.785411784"))
	return materials.Stored{Product: id.New(), Name: "Can", Unit: "L", Quantity: litres, Litres: litres, Liquid: of, Place: at}
}

// over are the limits that are passed, by what they are of.
func over(sums []materials.Flammables) string {
	var out []string
	for _, f := range sums {
		for _, l := range f.Limits {
			if l.Over() {
				out = append(out, l.Of)
			}
		}
	}
	return strings.Join(out, ", ")
}

// 29 CFR 1910.106(e)(2)(ii)(b)(1) and (2): outside storage rooms and cabinets 25 gal of category 1
// and 120 gal of categories 2 to 4 in a fire area; each by itself.
func TestCountFlammables_InTheOpen(t *testing.T) {
	for name, c := range map[string]struct {
		stored []materials.Stored
		want   string
	}{
		"as much as may be":             {[]materials.Stored{gallons("25", ether, rack), gallons("120", lacquerThinner, rack)}, ""},
		"a little more of category 1":   {[]materials.Stored{gallons("25.01", ether, rack)}, "category 1"},
		"2 to 4 together":               {[]materials.Stored{gallons("40", lacquerThinner, rack), gallons("40", spirits, rack), gallons("40.01", glycolCleaner, rack)}, "categories 2 to 4"},
		"room for 2 to 4 is none for 1": {[]materials.Stored{gallons("26", ether, rack), gallons("1", spirits, rack)}, "category 1"},
		"room for 1 is none for 2":      {[]materials.Stored{gallons("121", lacquerThinner, rack)}, "categories 2 to 4"},
		"both":                          {[]materials.Stored{gallons("26", ether, rack), gallons("121", spirits, rack)}, "category 1, categories 2 to 4"},
		"where nobody said":             {[]materials.Stored{gallons("20", ether, rack), gallons("6", ether, materials.StoragePlace{})}, "category 1"},
		"the rest in a cabinet":         {[]materials.Stored{gallons("20", ether, rack), gallons("6", ether, yellow)}, ""},
	} {
		_, areas := materials.CountFlammables(c.stored)
		if got := over(areas); got != c.want {
			t.Errorf("%s: over %q, want %q", name, got, c.want)
		}
	}
}

// Two shelves in one fire area count together, whichever way people spell it; those of two areas
// do not.
func TestCountFlammables_ByFireArea(t *testing.T) {
	shelf := func(word, area string) materials.StoragePlace {
		return materials.StoragePlace{Word: word, Name: word, Kind: materials.OpenPlace, Area: area}
	}
	_, areas := materials.CountFlammables([]materials.Stored{gallons("13", ether, shelf("a", "North")), gallons("13", ether, shelf("b", "north"))})
	if len(areas) != 1 || over(areas) != "category 1" {
		t.Errorf("one area = %v, want it over the limit of category 1", areas)
	}
	_, areas = materials.CountFlammables([]materials.Stored{gallons("13", ether, shelf("a", "North")), gallons("13", ether, shelf("b", "South"))})
	if len(areas) != 2 || over(areas) != "" {
		t.Errorf("two areas = %v, want neither over a limit", areas)
	}
}

// What nobody said where it stands may stand in any fire area: 24 gal of it and 24 gal in the main
// shop are over the limit there, and so are they with a rack whose area nobody said.
func TestCountFlammables_NowhereKnown(t *testing.T) {
	shop := materials.StoragePlace{Word: "bench", Name: "Bench", Kind: materials.OpenPlace, Area: "Main shop"}
	loft := materials.StoragePlace{Word: "loft", Name: "Loft", Kind: materials.OpenPlace, Area: "Loft"}
	for name, at := range map[string]materials.StoragePlace{"unplaced": {}, "no area": rack} {
		_, areas := materials.CountFlammables([]materials.Stored{gallons("24", ether, at), gallons("24", ether, shop), gallons("1", ether, loft)})
		if over(areas) != "category 1" || len(areas) != 3 || areas[1].Area != "Main shop" || !areas[1].Limits[0].Over() {
			t.Errorf("%s: areas = %+v, want the main shop over, and neither the loft's 25 gal nor the rest", name, areas)
		}
		if !strings.Contains(sentence.Text(areas[1].Says()), "counts here too") || strings.HasPrefix(areas[2].Where(), "The building") {
			t.Errorf("%s: texts = %q, %q, want a word of what counts in each", name, sentence.Text(areas[1].Says()), areas[2].Where())
		}
	}
}

// An alert is the same one whichever spelling of an area's name is read first.
func TestFlammableAlerts_OneSpelling(t *testing.T) {
	shelf := func(area string) materials.Stored {
		return gallons("13", ether, materials.StoragePlace{Word: area, Name: area, Kind: materials.OpenPlace, Area: area})
	}
	var said []materials.Alert
	for _, stored := range [][]materials.Stored{{shelf("Main shop"), shelf("main  Shop")}, {shelf("main  Shop"), shelf("Main shop")}} {
		_, areas := materials.CountFlammables(stored)
		said = append(said, materials.FlammableAlerts(areas)...)
	}
	if len(said) != 2 || said[0] != said[1] || said[0].Key != "area/main shop category 1" {
		t.Errorf("alerts = %+v, want one and the same twice", said)
	}
}

// A mix counts by the most flammable of its parts: that is known, and by which nobody judges that
// the rest is not.
func TestLiquid_Mixed(t *testing.T) {
	oil, water := materials.Liquid{FlashPoint: celsiusOf(222)}, materials.Liquid{WaterBorne: true}
	for name, c := range map[string]struct {
		own   materials.Liquid
		parts []materials.Liquid
		want  materials.FlammableCategory
		mixed bool
	}{
		"its own flash point":    {spirits, []materials.Liquid{ether}, 3, false},
		"oil and spirits":        {materials.Liquid{}, []materials.Liquid{oil, spirits}, 3, true},
		"spirits and thinner":    {materials.Liquid{}, []materials.Liquid{spirits, lacquerThinner}, 2, true},
		"one that nobody knows":  {materials.Liquid{}, []materials.Liquid{{}, spirits}, 3, true},
		"water and the unknown":  {materials.Liquid{}, []materials.Liquid{water, {}}, materials.CategoryUnknown, true},
		"oil and water":          {materials.Liquid{}, []materials.Liquid{oil, water}, materials.NotFlammable, true},
		"a water-borne with dye": {water, []materials.Liquid{water, spirits}, 3, true},
		"bought":                 {materials.Liquid{}, nil, materials.CategoryUnknown, false},
	} {
		if got, mixed := c.own.Mixed(c.parts); got.Category() != c.want || mixed != c.mixed {
			t.Errorf("%s: Mixed = %d, %v, want %d, %v", name, got.Category(), mixed, c.want, c.mixed)
		}
	}
	mix := gallons("26", ether, rack)
	mix.ByParts = true
	_, areas := materials.CountFlammables([]materials.Stored{mix})
	if text := sentence.Text(areas[0].Says()); !strings.Contains(text, "Can counts by the most flammable of its parts") {
		t.Errorf("text = %q, want a word of it", text)
	}
}

// Spray cans are in no sum, whatever else is known of them, and never passed over.
func TestCountFlammables_ByThePiece(t *testing.T) {
	can := materials.Stored{Product: id.New(), Name: "Spray lacquer", Unit: "each", Quantity: decimal.New(12, 0), Liquid: lacquerThinner, Place: yellow}
	water := materials.Stored{Product: id.New(), Name: "Spray clear", Unit: "each", Quantity: decimal.New(6, 0), Liquid: materials.Liquid{WaterBorne: true}, Place: yellow}
	places, _ := materials.CountFlammables([]materials.Stored{can, water})
	if len(places) != 1 || len(places[0].Unknown) != 2 || !strings.Contains(sentence.Text(places[0].Says()), "Spray lacquer (it is counted by the piece") {
		t.Errorf("places = %+v, want both cans not counted", places)
	}
}

// 29 CFR 1910.106(d)(3)(i): 60 gal of categories 1 to 3 and 120 gal of category 4 in one cabinet.
func TestCountFlammables_InACabinet(t *testing.T) {
	other := yellow
	other.Word = "red-cabinet"
	for name, c := range map[string]struct {
		stored []materials.Stored
		want   string
	}{
		"as much as may be":       {[]materials.Stored{gallons("20", ether, yellow), gallons("20", lacquerThinner, yellow), gallons("20", spirits, yellow), gallons("120", glycolCleaner, yellow)}, ""},
		"1 to 3 together":         {[]materials.Stored{gallons("20", ether, yellow), gallons("20", lacquerThinner, yellow), gallons("20.01", spirits, yellow)}, "categories 1 to 3"},
		"category 4":              {[]materials.Stored{gallons("120.01", glycolCleaner, yellow)}, "category 4"},
		"each cabinet for itself": {[]materials.Stored{gallons("60", spirits, yellow), gallons("60", spirits, other)}, ""},
	} {
		places, _ := materials.CountFlammables(c.stored)
		if got := over(places); got != c.want {
			t.Errorf("%s: over %q, want %q", name, got, c.want)
		}
	}
}

// 30 gal are half of what a cabinet may hold of categories 1 to 3: 113.56 of 227.12 L.
func TestLimit_Percent(t *testing.T) {
	places, _ := materials.CountFlammables([]materials.Stored{gallons("30", spirits, yellow)})
	l := places[0].Limits[0]
	if l.Percent() != 50 || l.Limit.String() != "227.12470704" || l.Source != "29 CFR 1910.106(d)(3)(i)" {
		t.Errorf("limit = %+v, %v %%, want half of 227.12470704 L by 29 CFR 1910.106(d)(3)(i)", l, l.Percent())
	}
}

// A storage room and the yard have limits of their own, which are not in this table: none is
// applied, and that is said.
func TestCountFlammables_NoLimitOfThisTable(t *testing.T) {
	for kind, want := range map[materials.PlaceKind]string{materials.StoreRoom: "storage room", materials.Outdoors: "outdoors"} {
		places, areas := materials.CountFlammables([]materials.Stored{gallons("500", ether, materials.StoragePlace{Word: "p", Name: "P", Kind: kind})})
		if len(areas) != 0 || len(places) != 1 || len(places[0].Limits) != 0 || !strings.Contains(sentence.Text(places[0].Says()), want) || !strings.Contains(sentence.Text(places[0].Says()), "no limit of this table is applied") {
			t.Errorf("%s = %+v and %v, want no limit, and a word of it", kind, places, areas)
		}
	}
}

// A varnish whose flash point nobody entered is in no sum, and never passed over.
func TestCountFlammables_Unknown(t *testing.T) {
	varnish := gallons("3", materials.Liquid{}, yellow)
	varnish.Name = "Spar varnish"
	wax := materials.Stored{Product: id.New(), Name: "Paste wax", Unit: "g", Quantity: decimal.New(500, 0), Liquid: spirits, Place: yellow}
	places, _ := materials.CountFlammables([]materials.Stored{varnish, varnish, wax})
	f := places[0]
	if len(f.Unknown) != 2 || f.Unknown[1].Quantity.String() != "22.712470704" || !f.Category[3].IsZero() {
		t.Errorf("unknown = %+v, want the wax, whose volume nobody knows, and 6 gal of varnish", f.Unknown)
	}
	if !strings.Contains(sentence.Text(f.Says()), "Paste wax (it is counted by mass and its density was not entered), Spar varnish (its flash point was not entered)") || !strings.Contains(sentence.Text(f.Says()), "more than is shown") {
		t.Errorf("text = %q, want it to name them", sentence.Text(f.Says()))
	}
}

// Water-borne paint without a flash point is no line of this list.
func TestCountFlammables_WaterBorne(t *testing.T) {
	if places, areas := materials.CountFlammables([]materials.Stored{gallons("50", materials.Liquid{WaterBorne: true}, rack)}); len(places)+len(areas) != 0 {
		t.Errorf("CountFlammables = %v, %v, want nothing", places, areas)
	}
}

// Nothing that is said of flammable liquids calls them safe, and all of it defers.
func TestFlammables_NeverSaidToBeSafe(t *testing.T) {
	places, areas := materials.CountFlammables([]materials.Stored{gallons("26", ether, rack), gallons("1", spirits, yellow)})
	all := materials.FlammableCaution
	for _, f := range append(places, areas...) {
		all += sentence.Text(f.Says())
	}
	if strings.Contains(strings.ToLower(all), "safe") {
		t.Errorf("%q says that something is safe", all)
	}
	for _, want := range []string{"Local fire codes", "local fire authority", "licensed professional"} {
		if !strings.Contains(materials.FlammableCaution, want) {
			t.Errorf("the caution does not name %q", want)
		}
	}
}

func TestFlammableAlerts(t *testing.T) {
	came := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	cans := gallons("26", ether, rack)
	cans.Since = came
	_, areas := materials.CountFlammables([]materials.Stored{cans, gallons("1", spirits, rack)})
	got := materials.FlammableAlerts(areas)
	if len(got) != 1 || got[0].Key != "area/ category 1" || !got[0].Due.Equal(came) || got[0].Kind != materials.FlammableAlert {
		t.Fatalf("alerts = %+v, want one of category 1, due since the newest came in", got)
	}
	for _, want := range []string{"98.4 L", "94.6 L (25 gal)", "3.8 L more", "Use up 3.8 L at least, move it", "29 CFR 1910.106(e)(2)(ii)(b)(1)", "local fire authority"} {
		if !strings.Contains(got[0].Text, want) {
			t.Errorf("text = %q, want %q in it", got[0].Text, want)
		}
	}
}
