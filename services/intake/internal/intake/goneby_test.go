package intake_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/intake/internal/intake"
)

func familyOf(word string) finish.Family { return finish.Family(word) }

func length(t *testing.T, value, unit string) quantity.Quantity {
	t.Helper()
	q, err := quantity.Parse(value, unit)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// board is so many parts of 1 m by so many centimetres, of no known thickness: 0.02 m² for each.
func board(t *testing.T, label string, count int32, cm int) intake.Part {
	t.Helper()
	return intake.Part{Label: label, Count: count, Length: length(t, "1", "m"), Width: length(t, fmt.Sprint(cm), "cm")}
}

func goneBy(t *testing.T, s intake.Sighting, given []intake.Part, own ...intake.Piece) intake.GoneBy {
	t.Helper()
	g, err := intake.GoBy(s, given, own)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// By hand, m²: the top 1.4 × 0.85 + 0.025 × 4.5 = 1.3025; four aprons of 0.95 × 0.1 + 0.02 × 2.1
// = 0.137; four legs of 2 × 0.72 × 0.07 + 0.07 × 1.58 = 0.2114.
func TestGoBy_Usual(t *testing.T) {
	g := goneBy(t, intake.Sighting{Kind: "Dining Table", Size: intake.Medium}, nil)
	want := []intake.MeasuredPart{{Label: "top", AreaM2: 1.3025}, {Label: "apron", AreaM2: 0.548}, {Label: "leg", AreaM2: 0.8456}}
	if diff := cmp.Diff(want, g.Measured, cmpopts.EquateApprox(0, 1e-9)); diff != "" || g.OwnPieces != 0 || g.Given || len(g.Parts) != 3 || g.Parts[2].Count != 4 {
		t.Errorf("GoBy (-want +got):\n%s%+v", diff, g)
	}
}

// Of a bookcase's back one face is coated, the other stands against the wall. By hand, m²: two sides of 1.5 × 0.28 +
// 0.02 × 3.56 = 0.4912; five shelves of 2 × 0.76 × 0.27 + 0.02 × 2.06 = 0.4516; 1.5 × 0.76 + 0.006 × 4.52 = 1.1671.
func TestGoBy_UsualBookcase(t *testing.T) {
	g := goneBy(t, intake.Sighting{Kind: "bookcase", Size: intake.Medium, Defects: []finish.Defect{finish.Dents, finish.Odour}}, nil)
	odour := []finish.Defect{finish.Odour}
	want := []intake.MeasuredPart{{Label: "side", AreaM2: 0.9824, Defects: odour}, {Label: "shelf", AreaM2: 2.258, Defects: []finish.Defect{finish.Dents, finish.Odour}},
		{Label: "back panel", AreaM2: 1.1671, Defects: odour}}
	if diff := cmp.Diff(want, g.Measured, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
		t.Errorf("GoBy (-want +got):\n%s", diff)
	}
}

// Each kind has parts that are told apart and no larger than furniture is; a larger one has more of
// surface.
func TestGoBy_UsualOfEachKind(t *testing.T) {
	kinds := intake.UsualKinds()
	for _, must := range []string{"dresser", "chest of drawers", "nightstand", "table", "coffee table", "chair", "set of chairs", "bookcase", "cabinet", "desk", "sideboard",
		"wardrobe", "bed", "bench", "mirror frame"} {
		if !slices.Contains(kinds, must) {
			t.Errorf("nobody knows the parts of a %s", must)
		}
	}
	for _, kind := range kinds {
		before := 0.0
		for _, size := range []intake.Size{intake.Small, intake.Medium, intake.Large} {
			area := 0.0
			for _, part := range goneBy(t, intake.Sighting{Kind: kind, Size: size}, nil).Measured {
				area += part.AreaM2
			}
			if area <= before || area < 0.2 || area > 15 {
				t.Errorf("a %s %s has %.2f m², a smaller one %.2f", size, kind, area, before)
			}
			before = area
		}
	}
}

// The work of a prospect is reckoned for the parts that the piece then has, each by itself, of whatever kind and size. A
// finish plan sets up each of its stages for each part, so that for parts put together the advice is fewer hours than the
// plan of the piece has: 1.24 times fewer over these kinds, and 1.78 times of a large chair.
func TestGoBy_ThePartsThatThePieceHas(t *testing.T) {
	for _, kind := range intake.UsualKinds() {
		for _, size := range []intake.Size{intake.Small, intake.Medium, intake.Large} {
			s := intake.Sighting{Kind: kind, Size: size, Source: "a barn sale"}
			g := goneBy(t, s, nil)
			pr := intake.See(s, g, intake.Advice{}, time.Time{})
			piece, err := pr.Buy(intake.Purchased{ID: id.New()}, time.Time{})
			if err != nil {
				t.Fatal(err)
			}
			var reckoned, has []string
			for _, part := range g.Measured {
				reckoned = append(reckoned, part.Label)
			}
			for _, part := range piece.Parts {
				has = append(has, part.Label)
			}
			if !slices.Equal(reckoned, has) {
				t.Errorf("the work of a %s %s is reckoned for %v, and the piece has %v", size, kind, reckoned, has)
			}
		}
	}
}

// Own pieces tell from three on, by the one in the middle; of four, by the second smallest. Those with
// a part that nobody measured are not counted.
func TestGoBy_OwnPieces(t *testing.T) {
	own := func(cm ...int) (all []intake.Piece) {
		for _, c := range cm {
			all = append(all, intake.Piece{Parts: []intake.Part{board(t, "top", 1, c), board(t, "leg", 2, 1)}})
		}
		return append(all, intake.Piece{Parts: []intake.Part{board(t, "top", 1, 5), {Label: "leg", Count: 1}}}, intake.Piece{})
	}
	s := intake.Sighting{Kind: "plinth", Size: intake.Small}
	for want, all := range map[float64][]intake.Piece{0.5: own(90, 10, 50), 0.4: own(90, 10, 40, 50)} {
		g := goneBy(t, s, nil, all...)
		if g.Measured[0].AreaM2 != want || g.Measured[1].AreaM2 != 0.04 || g.OwnPieces != len(all)-2 || g.Given {
			t.Errorf("GoBy of %d pieces = %+v, want a top of %v m²", len(all)-2, g, want)
		}
	}
	if _, err := intake.GoBy(s, nil, own(90, 10)); !fault.Is(err, "PARTS_UNKNOWN") || fault.Of(err).Fields[0].Path != "kind" {
		t.Errorf("GoBy of two = %v, want PARTS_UNKNOWN at kind", err)
	}
	s.Kind = "chair"
	if g := goneBy(t, s, nil, own(90, 10)...); g.OwnPieces != 0 || g.Parts[0].Label != "seat" {
		t.Errorf("GoBy of two chairs = %+v, want what is usual", g)
	}
}

func TestGoBy_Given(t *testing.T) {
	s := intake.Sighting{Kind: "plinth"}
	g := goneBy(t, s, []intake.Part{board(t, "top", 0, 40), board(t, "leg", 4, 5)}, intake.Piece{})
	if !g.Given || g.OwnPieces != 0 || g.Measured[0].AreaM2 != 0.4 || g.Measured[1].AreaM2 != 0.4 {
		t.Errorf("GoBy = %+v, want the parts that were given", g)
	}
	for name, c := range map[string]struct {
		second       intake.Part
		reason, path string
	}{
		"NoLength": {intake.Part{Label: "leg", Width: length(t, "3", "cm")}, "AREA_MISSING", "parts[1].length"},
		"NoWidth":  {intake.Part{Label: "leg", Length: length(t, "3", "cm")}, "AREA_MISSING", "parts[1].length"},
		"Twice":    {board(t, "TOP", 1, 3), "PART_LABEL_TWICE", "parts[1].label"},
		"Endless":  {board(t, "leg", 1, 100_000_000), "OUT_OF_RANGE", "parts[1].width"},
	} {
		_, err := intake.GoBy(s, []intake.Part{board(t, "top", 1, 40), c.second}, nil)
		if !fault.Is(err, c.reason) || fault.Of(err).Fields[0].Path != c.path {
			t.Errorf("%s: GoBy = %v, want %s at %s", name, err, c.reason, c.path)
		}
	}
}

// Nobody says on which part a defect is: the largest has them all, and every one an odour.
func TestGoBy_Defects(t *testing.T) {
	s := intake.Sighting{Kind: "plinth", Defects: []finish.Defect{finish.Burn, finish.Odour}}
	g := goneBy(t, s, []intake.Part{board(t, "leg", 4, 5), board(t, "seat", 1, 40), board(t, "back", 1, 40)})
	want := [][]finish.Defect{{finish.Odour}, {finish.Burn, finish.Odour}, {finish.Odour}}
	for i, part := range g.Measured {
		if diff := cmp.Diff(want[i], part.Defects); diff != "" {
			t.Errorf("defects of %s (-want +got):\n%s", part.Label, diff)
		}
	}
}

// A word that the rules of finishing come to have must be put with the one or the other.
func TestSighting_Condition(t *testing.T) {
	want := map[finish.Defect]intake.Condition{
		finish.Dents: intake.Worn, finish.Holes: intake.Worn, finish.Scratches: intake.Worn, finish.WaterRing: intake.Worn, finish.Odour: intake.Worn,
		finish.LooseJoint: intake.Damaged, finish.VeneerLift: intake.Damaged, finish.VeneerChip: intake.Damaged, finish.Burn: intake.Damaged, finish.MissingPiece: intake.Damaged,
	}
	for _, d := range finish.Defects() {
		if got := (intake.Sighting{Defects: []finish.Defect{finish.Dents, d}}).Condition(); got != want[d] {
			t.Errorf("with %s it is %s, want %s", d, got, want[d])
		}
	}
	if got := (intake.Sighting{}).Condition(); got != intake.Sound {
		t.Errorf("without defects it is %s", got)
	}
}

// Terms say what is usual where nobody said anything.
func TestBuyingTerms(t *testing.T) {
	before := intake.BuyingTerms{Target: 1, Chance: 0.5, Labour: 2, PerKM: 3, KMPerHour: 4, HandlingMinutes: 5, Version: 6}
	if got, want := before.Say(intake.BuyingTerms{Target: 9}), (intake.BuyingTerms{Target: 9, Chance: 0.8, KMPerHour: 50, Version: 7}); got != want {
		t.Errorf("Say = %+v, want %+v", got, want)
	}
	all := intake.BuyingTerms{Target: 9, Chance: 0.1, Labour: 8, PerKM: 7, KMPerHour: 6, HandlingMinutes: 3}
	got := before.Say(all)
	if all.Version = 7; got != all {
		t.Errorf("Say = %+v, want %+v", got, all)
	}
	if got, err := before.Aiming(0, 0); err != nil || got != before {
		t.Errorf("Aiming at nothing of its own = %+v, %v", got, err)
	}
	if got, err := (intake.BuyingTerms{Chance: 0.8}).Aiming(20, 0.9); err != nil || got.Target != 20 || got.Chance != 0.9 {
		t.Errorf("Aiming = %+v, %v", got, err)
	}
	_, err := (intake.BuyingTerms{Chance: 0.8}).Aiming(0, 0.9)
	if !fault.Is(err, "TERMS_MISSING") || !strings.Contains(err.Error(), "shop prospect terms --target") || !strings.Contains(err.Error(), "under Buying") {
		t.Errorf("Aiming without a target = %v, want TERMS_MISSING that says where to say it", err)
	}
}
