package buying

import (
	"slices"
	"testing"

	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/words"
)

// Whatever an hour earns, twenty dots are on the sheet, none over another in its column, and as many of them
// reach the target as have their middle there.
func TestDots_Holds(t *testing.T) {
	v := voice("en", words.Metric)
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SliceOfN(rapid.Int64Range(-50_000, 90_000), 21, 21).Draw(t, "twentieths")
		slices.Sort(at)
		target := rapid.Int64Range(0, 60_000).Draw(t, "target")
		ad := &intakev1.Advice{TargetPerHour: usd(target, 0)}
		for _, m := range at {
			ad.ProfitPerHourTwentieths = append(ad.ProfitPerHourTwentieths, usd(m, 0))
		}
		d := dotsOf(v, ad)
		if len(d.Dots) != 20 {
			t.Fatalf("%d dots", len(d.Dots))
		}
		reach, wantReach := 0, 0
		for i := range 20 {
			if (at[i]+at[i+1])*100 >= 2*target*100 {
				wantReach++
			}
		}
		for i, one := range d.Dots {
			if one.X < radius || one.X > dotsWide-radius || one.Y < dotsTop || one.Y+radius > d.Rule {
				t.Fatalf("dot %+v is off the sheet (rule at %d)", one, d.Rule)
			}
			if slices.ContainsFunc(d.Dots[:i], func(o dot) bool { return o.X == one.X && o.Y == one.Y }) {
				t.Fatalf("dot %+v hides another", one)
			}
			if one.Word == "reaches" {
				reach++
			}
		}
		if reach != wantReach {
			t.Fatalf("%d dots reach the target, want %d", reach, wantReach)
		}
		if d.High > 110 {
			t.Fatalf("the drawing is %d high", d.High)
		}
	})
	if d := dotsOf(v, &intakev1.Advice{}); len(d.Dots) != 0 {
		t.Errorf("dots of nothing: %+v", d)
	}
}

func TestDrivers(t *testing.T) {
	d := driversOf(voice("en", words.Metric), onlyIf(), usd(120, 0))
	// From −20 to 205.90 on 192 units: 85.37 is at 4 + 105.37/225.90 × 192 = 93.6.
	if d.Most != 94 || len(d.Rows) != 2 {
		t.Fatalf("drivers are %+v", d)
	}
	price, hours := d.Rows[0], d.Rows[1]
	if price.X != barEdge || price.Wide != barWide-2*barEdge || price.IfLow != "0" || price.IfHigh != "205" || price.Share != "70 %" {
		t.Errorf("the price is %+v", price)
	}
	if hours.IfLow != "150" || hours.IfHigh != "31" || hours.X >= d.Most || hours.X+hours.Wide <= d.Most {
		t.Errorf("more hours: %+v, the most to pay at %d", hours, d.Most)
	}
}

// Where nothing may be paid the bars show the chance as a gift: from 41 % to 88 % on 192 units, where it is 66 %.
func TestDrivers_OfAGift(t *testing.T) {
	d := driversOf(voice("en", words.Metric), notEvenAGift(), usd(120, 0))
	if d.Says != "The chance as a gift, if you knew:" || d.Most != 4+128 || len(d.Rows) != 1 {
		t.Fatalf("drivers are %+v", d)
	}
	if price := d.Rows[0]; price.IfLow != "41 %" || price.IfHigh != "88 %" || price.X != 4+79 || price.Wide != 90 {
		t.Errorf("the price is %+v", price)
	}
}

// Everything that finish plans know can be chosen, and nothing else.
func TestChoices_AreThoseOfFinishPlans(t *testing.T) {
	var offered []finish.Defect
	for _, g := range wrongs {
		offered = append(offered, g.Defects...)
	}
	slices.Sort(offered)
	if all := slices.Sorted(slices.Values(finish.Defects())); !slices.Equal(offered, all) {
		t.Errorf("offered are %q, known %q", offered, all)
	}
	for _, language := range words.Languages {
		v := voice(language, words.Metric)
		f := formOf(v, typedIn())
		all := slices.Concat(f.Kinds, f.Sizes, f.Stuffs, f.Olds, f.Looks, f.Woods)
		for _, g := range f.Wrongs {
			all = append(all, g.All...)
		}
		for _, c := range all {
			if c.Text == "" || c.Text[0] == '[' {
				t.Errorf("%s has no word for %q", language, c.Value)
			}
		}
	}
	for _, look := range looks {
		part := finish.Assessment{Material: finish.SolidWood, Species: "oak"}
		if _, err := finish.PlanPart(part, finish.Wanted{Look: look}, finish.Palette{}); fault.Is(err, "LOOK_UNKNOWN") {
			t.Errorf("%q is no look: %v", look, err)
		}
	}
	for _, f := range append(finish.Families(), finish.UnknownFinish) {
		if filmWords[f] == "" {
			t.Errorf("no word for %q", f)
		}
	}
}

// What was seen comes back the same after it was written into a form, whoever reads it.
func TestValues_ComeBack(t *testing.T) {
	s := &intakev1.Sighting{Title: "Blue one", Kind: "harmonium", Size: typev1.PieceSize_PIECE_SIZE_LARGE, Material: "veneer", Species: "walnut", OldFinish: "", PaintedIn: 1931,
		Defects: []string{"burn", "odour"}, ExtraCost: usd(12, 50), Look: "stain", AskingPrice: usd(0, 0), DistanceKm: 32.18688, Source: "attic", SellsLow: usd(200, 0), SellsHigh: usd(350, 25),
		Channel: "window", Note: "two of them", Parts: []*intakev1.Part{{Label: "case", Count: 1, Length: &typev1.Quantity{Value: "50.8", Unit: "cm"}, Width: &typev1.Quantity{Value: "25.4", Unit: "cm"}}, {Label: "legs", Count: 4}}}
	for _, units := range []words.Units{words.Metric, words.Imperial} {
		v := voice("en", units)
		q := valuesOf(v, s)
		got, err := wishOf(wishForm(v, q))
		if err != nil {
			t.Fatal(err)
		}
		if d := got.Sighting.DistanceKm - s.DistanceKm; d < -0.1 || d > 0.1 {
			t.Errorf("%s: %v km are %v", units, s.DistanceKm, got.Sighting.DistanceKm)
		}
		if units == words.Imperial && (q.Get("distance") != "20" || q["length"][0] != "20" || q.Get("unit") != "in") {
			t.Errorf("in miles and inches: %v", q)
		}
		again, ok := proto.Clone(got.Sighting).(*intakev1.Sighting)
		if !ok {
			t.Fatal("no sighting")
		}
		again.DistanceKm = s.DistanceKm
		if units == words.Imperial {
			again.Parts = s.Parts
		}
		if !proto.Equal(again, s) {
			t.Errorf("%s:\n%v\n is\n%v", units, s, again)
		}
	}
}

// A distance in an address that somebody else sent reads in the reader's own unit.
func TestForm_ReadersUnits(t *testing.T) {
	f := formOf(voice("en", words.Imperial), typedIn("distance", "16.1"))
	if f.V("distance") != "10" || f.V("per") != "mi" || f.Unit != "mi" {
		t.Errorf("16.1 km are %q %q", f.V("distance"), f.V("per"))
	}
}

func TestMostOf(t *testing.T) {
	v := voice("en", words.Metric)
	for _, c := range []struct {
		most, asked int64 // cents
		want        string
	}{{8537, 12000, "85"}, {8537, 8520, "85.37"}, {8537, 2000, "85"}, {8537, 8537, "85.37"}, {-300, 0, "0"}, {0, 0, "0"}} {
		got := mostOf(v, &intakev1.Advice{MostToPay: cents(c.most)}, cents(c.asked))
		if got != c.want {
			t.Errorf("the most to pay of %d at %d is %q, want %q", c.most, c.asked, got, c.want)
		}
	}
}
