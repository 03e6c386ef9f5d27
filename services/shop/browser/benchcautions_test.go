package browser_test

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// varnishFor gives somebody a stage with a product that burns, on a piece of its own.
func varnishFor(t *testing.T, s *suite.Suite, person string) (stage string) {
	t.Helper()
	ctx, shop := asOwner(t), s.Shop
	product, err := shop.Materials.AddProduct(ctx, &materialsv1.AddProductRequest{RequestId: newID(), DisplayName: "Long oil varnish", Unit: "L"})
	if err != nil {
		t.Fatal(err)
	}
	sheet := &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_OIL_VARNISH, Carrier: typev1.Carrier_CARRIER_SOLVENT, VolumeSolidsPercent: 50, DryFilmUm: 25,
		SandMinutes: 720, RecoatMinutes: 720, RecoatClosesMinutes: 4320, CureMinutes: 10080}
	if _, err := shop.Materials.SetCoatingSheet(ctx, &materialsv1.SetCoatingSheetRequest{RequestId: newID(), Product: product.Product.Name, CoatingSheet: sheet}); err != nil {
		t.Fatal(err)
	}
	route := &workflowv1.Route{Name: "routes/one-coat-of-varnish", Steps: []*workflowv1.Step{{Key: "topcoat", Kind: "topcoat_coat", Scope: workflowv1.Step_SCOPE_PART, Skill: "finish", AttendedMinutes: 20}}}
	if _, err := shop.Routes.SaveRoute(ctx, &workflowv1.SaveRouteRequest{RequestId: newID(), Route: route}); err != nil {
		t.Fatal(err)
	}
	piece, err := shop.Intake.TakeInPiece(ctx, &intakev1.TakeInPieceRequest{RequestId: newID(), Title: "A tray", Kind: "table", Parts: []*intakev1.Part{{Label: "tray"}},
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: &money.Money{CurrencyCode: "USD", Units: 5}, Source: "A neighbour"}}})
	if err != nil {
		t.Fatal(err)
	}
	planned := plan(t, s, &workflowv1.PlanStagesRequest{RequestId: newID(), Piece: piece.Piece.Name, Route: route.Name,
		Products: []*workflowv1.PlanStagesRequest_StepProduct{{Step: "topcoat", Product: product.Product.Name}}})
	if _, err := shop.Stages.AssignStage(ctx, &workflowv1.AssignStageRequest{RequestId: newID(), Stage: planned.Name, Person: person}); err != nil {
		t.Fatal(err)
	}
	return planned.Name
}

// plan lays a piece's only stage out, as soon as workflow has heard of the piece.
func plan(t *testing.T, s *suite.Suite, r *workflowv1.PlanStagesRequest) *workflowv1.Stage {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; {
		planned, err := s.Shop.Stages.PlanStages(asOwner(t), r)
		if err == nil {
			return planned.Stages[0]
		}
		if !fault.Is(err, "PIECE_NOT_FOUND") || time.Now().After(end) {
			t.Fatal(err)
		}
	}
}

// Nobody starts what can hurt them before they have ticked each caution; what they read is kept. The stage is finished
// from the same page.
func TestBench_Cautions(t *testing.T) {
	s := floor(t)
	person := newcomer(t, s, "Tove")
	stage := varnishFor(t, s, person)
	b, l := phoneOf(t, s, "Tove")
	b.see("what comes next, with its cautions", big+`.includes('topcoat coat · tray') && document.querySelectorAll('input[name=caution]').length > 1`)
	for n := ask[int](b, `document.querySelectorAll('input[name=caution]').length`); n > 0; n-- {
		b.do(click("#big"))
		b.see("she is told to read first, and is where she can", `!document.getElementById('trouble').hidden && document.activeElement.matches('input[name=caution]:not(:checked)')`)
		b.do(chromedp.KeyEvent(" "))
	}
	b.fair()
	b.picture("bench-cautions")
	if l.times("/bench/clock") > 0 {
		t.Fatal("it was sent before all was ticked")
	}
	b.do(click("#big"))
	b.see("on the clock", onTheClock)
	if e := entriesOf(t, s, person); len(e) != 1 || e[0].Stage != stage {
		t.Fatalf("entries = %v, want one at %s", e, stage)
	}
	b.do(click("#finish"))
	b.see("off, and nothing waits", offIt+" && "+waitsNone)
	r, err := s.Shop.Stages.GetStage(asOwner(t), &workflowv1.GetStageRequest{Name: stage})
	if err != nil || r.Stage.State != workflowv1.Stage_STATE_FINISHED {
		t.Errorf("stage = %v, %v, want it finished", r, err)
	}
}
