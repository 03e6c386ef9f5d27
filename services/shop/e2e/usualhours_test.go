package e2e_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
	"tackfree/testdata/demo"
)

// advisor is the owner of a shop that has done nothing yet, and for whom a piece is fetched in no time: all hours
// are the usual ones of the work.
type advisor struct {
	t    *testing.T
	shop *client.Shop
	ctx  context.Context
}

func newAdvisor(t *testing.T) advisor {
	a := advisor{t, open(t, nil).Shop, caller.With(t.Context(), caller.Caller{Actor: "Owner"})}
	_, err := a.shop.Prospects.SetBuyingTerms(a.ctx, &intakev1.SetBuyingTermsRequest{RequestId: id.New().String(),
		Terms: &intakev1.BuyingTerms{TargetPerHour: usd(25_00), HandlingMinutes: proto.Int32(0)}})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// hours are the likely ones of a piece of solid wood.
func (a advisor) hours(s *intakev1.Sighting) float64 {
	a.t.Helper()
	s.Material, s.AskingPrice, s.SellsLow, s.SellsHigh = "solid wood", usd(0), usd(100_00), usd(300_00)
	r, err := a.shop.Prospects.AdvisePurchase(a.ctx, &intakev1.AdvisePurchaseRequest{Sighting: s})
	if err != nil {
		a.t.Fatalf("%v: %v", s, err)
	}
	return r.Advice.Hours.Likely
}

// A bare piece is no more work than one with an old coat that nobody could tell: of whatever kind, size and look.
func TestUsualHours_BareIsNoMoreThanUnknown(t *testing.T) {
	a := newAdvisor(t)
	kinds := []string{"dresser", "chest of drawers", "nightstand", "table", "coffee table", "side table", "chair", "set of chairs", "stool", "bench", "bookcase",
		"cabinet", "desk", "sideboard", "wardrobe", "bed", "trunk", "door", "mirror frame"}
	for _, look := range []string{"paint", "paint and glaze", "stain", "clear", "natural oil", "toned", "ebonised", "limewashed", "two-tone"} {
		for _, kind := range kinds {
			for _, size := range []typev1.PieceSize{typev1.PieceSize_PIECE_SIZE_SMALL, typev1.PieceSize_PIECE_SIZE_MEDIUM, typev1.PieceSize_PIECE_SIZE_LARGE} {
				bare := a.hours(&intakev1.Sighting{Kind: kind, Size: size, Look: look})
				unknown := a.hours(&intakev1.Sighting{Kind: kind, Size: size, Look: look, OldFinish: "unknown"})
				if bare > unknown {
					t.Errorf("a %s %s to be %s takes %.1f h bare and %.1f h with a coat that nobody could tell", size, kind, look, bare, unknown)
				}
			}
		}
	}
}

// The pieces of the demo that are laid out by routes: what is usual is within a factor of 2.25 of what its shop wrote
// down for such parts, hands-on, and on the whole it is neither above nor below by more than a third. The usual work
// has coats that the demo's routes leave out, a second topcoat and what lies between stain and film.
func TestUsualHours_LikeTheDemosRoutes(t *testing.T) {
	a := newAdvisor(t)
	story, err := scenario.Read(demo.Files, "shop.json")
	if err != nil {
		t.Fatal(err)
	}
	came, logs, n := map[string]*scenario.TakeIn{}, 0.0, 0.0
	for _, step := range story.Steps {
		if step.TakeIn != nil {
			came[fmt.Sprint(step.TakeIn.Tag)] = step.TakeIn
		}
		if step.Plan == nil {
			continue
		}
		piece := came[step.Plan.Piece]
		s := &intakev1.Sighting{Kind: piece.Kind, Size: typev1.PieceSize_PIECE_SIZE_MEDIUM, OldFinish: "unknown", Look: lookOf[step.Plan.Route]}
		for _, p := range piece.Parts {
			s.Parts = append(s.Parts, &intakev1.Part{Label: p.Label, Count: max(1, p.Count), Length: quantityOf(p.Length), Width: quantityOf(p.Width)})
		}
		usual, written := a.hours(s), routeHours(story, step.Plan.Route, len(piece.Parts))
		y := math.Log(usual / written)
		logs, n = logs+y, n+1
		t.Logf("%s: usual %.1f h, by its route %.1f h", piece.Title, usual, written)
		if math.Abs(y) > math.Log(2.25) {
			t.Errorf("%s usually takes %.1f h, and by its route %.1f h", piece.Title, usual, written)
		}
	}
	if n < 5 || math.Abs(logs/n) > math.Log(4.0/3) {
		t.Errorf("of %v pieces the usual hours are %.2f times those of their routes", n, math.Exp(logs/n))
	}
}

// lookOf is what a route of the demo makes of a piece.
var lookOf = map[string]string{"painted": "paint", "stained": "stain", "oiled": "natural oil"}

// routeHours are the hands-on hours of a route on a piece of so many parts.
func routeHours(story *scenario.Scenario, name string, parts int) float64 {
	minutes := 0
	for _, r := range story.Routes {
		if scenario.Word(r) != name {
			continue
		}
		for _, step := range r.Steps {
			times := 1
			if step.Scope == workflowv1.Step_SCOPE_PART {
				times = parts
			}
			minutes += times * int(step.AttendedMinutes)
		}
	}
	return float64(minutes) / 60
}

func quantityOf(q *scenario.Quantity) *typev1.Quantity {
	return &typev1.Quantity{Value: q.Value, Unit: q.Unit}
}
