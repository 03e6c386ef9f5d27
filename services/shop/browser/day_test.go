package browser_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tackfree/pkg/caller"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"

	"google.golang.org/protobuf/types/known/timestamppb"
)

// byOwner gives commands as the owner does from the shop's own machine.
func byOwner(t *testing.T) context.Context {
	t.Helper()
	return caller.With(t.Context(), caller.Caller{Actor: owner})
}

// takenIn is a piece of one part that came in just now.
func takenIn(t *testing.T, s *suite.Suite, title string) *intakev1.Piece {
	t.Helper()
	r, err := s.Shop.Intake.TakeInPiece(byOwner(t), &intakev1.TakeInPieceRequest{RequestId: newID(), Title: title, Kind: "nightstand",
		Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: title}}, Parts: []*intakev1.Part{{Label: "top"}}})
	if err != nil {
		t.Fatal(err)
	}
	return r.Piece
}

// varnish is a coating that is sold by its sheet.
func varnish(t *testing.T, s *suite.Suite) string {
	t.Helper()
	added, err := s.Shop.Materials.AddProduct(byOwner(t), &materialsv1.AddProductRequest{RequestId: newID(), DisplayName: "Brushing varnish " + newID()[24:], Unit: "L"})
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Shop.Materials.SetCoatingSheet(byOwner(t), &materialsv1.SetCoatingSheetRequest{RequestId: newID(), Product: added.Product.Name, CoatingSheet: &typev1.CoatingSheet{
		Family: typev1.FilmFamily_FILM_FAMILY_WATER_POLYURETHANE, Carrier: typev1.Carrier_CARRIER_WATER, VolumeSolidsPercent: 33, DryFilmUm: 30,
		SandMinutes: 120, RecoatMinutes: 120, RecoatClosesMinutes: 1440, CureMinutes: 10080}})
	if err != nil {
		t.Fatal(err)
	}
	return added.Product.Name
}

// varnished is a piece whose first coat was laid thick an hour ago in the north bench room, where it is
// cool and damp.
func varnished(t *testing.T, s *suite.Suite) *intakev1.Piece {
	t.Helper()
	ctx := byOwner(t)
	for _, ago := range []time.Duration{3 * time.Hour, 90 * time.Minute, 0} {
		if _, err := s.Shop.Climate.RecordReading(ctx, &workflowv1.RecordReadingRequest{RequestId: newID(), Reading: &workflowv1.Reading{Zone: "climateZones/north",
			ReadTime: timestamppb.New(time.Now().Add(-ago)), Celsius: 18, HumidityPercent: 66, Source: "the wall"}}); err != nil {
			t.Fatal(err)
		}
	}
	piece := takenIn(t, s, "Beech nightstand, coated")
	wish := &workflowv1.PartWish{Part: piece.Parts[0].Name, AreaM2: 0.6, Look: "clear", Topcoats: 2,
		Assessment: &workflowv1.Assessment{Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, Species: "beech"}}
	if _, err := s.Shop.Finish.DraftFinishPlan(ctx, &workflowv1.DraftFinishPlanRequest{RequestId: newID(), Piece: piece.Name, Parts: []*workflowv1.PartWish{wish}, Zone: "climateZones/north",
		Products: []*workflowv1.ChosenProduct{{Use: workflowv1.ProductUse_PRODUCT_USE_TOPCOAT, Product: varnish(t, s)}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shop.Finish.ApproveFinishPlan(ctx, &workflowv1.ApproveFinishPlanRequest{RequestId: newID(), Piece: piece.Name}); err != nil {
		t.Fatal(err)
	}
	finishToTheCoat(t, s, piece)
	return piece
}

// finishToTheCoat finishes stages until a coat lies on the piece.
func finishToTheCoat(t *testing.T, s *suite.Suite, piece *intakev1.Piece) {
	t.Helper()
	stages, err := s.Shop.Stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: piece.Name})
	if err != nil {
		t.Fatal(err)
	}
	for _, stage := range stages.Stages {
		r := &workflowv1.FinishStageRequest{RequestId: newID(), Stage: stage.Name, OverrideReason: "the test has no time"}
		if stage.Kind == "topcoat_coat" {
			r.WetFilmUm, r.FinishTime = 150, timestamppb.New(time.Now().Add(-time.Second))
		}
		if _, err := s.Shop.Stages.FinishStage(byOwner(t), r); err != nil {
			t.Fatal(err)
		}
		if stage.Kind == "topcoat_coat" {
			return
		}
	}
	t.Fatal("the plan has no coat")
}

func TestDay_Looks(t *testing.T) {
	s := floor(t)
	piece := varnished(t, s)
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	b.see("the day", `location.pathname === "/day"`)
	b.see("the coat dries, later than its maker says, for its film and the air", fmt.Sprintf(
		`[...document.querySelectorAll(".rungs > li")].some(li => li.innerText.includes("%d") && /longer than the 2:00 its maker says: a thick film, ×\d.*cold, damp air/.test(li.innerText))`, piece.Tag))
	looks(t, b, "day", "/day")
	looks(t, b, "pieces", "/pieces")
	looks(t, b, "day-give", ask[string](b, `document.querySelector("a.give[href^='/day/give']") ? document.querySelector("a.give[href^='/day/give']").getAttribute("href") : "/day/give?stage=`+firstReady(t, s)+`"`))
}

// firstReady is a stage that is ready and nobody's.
func firstReady(t *testing.T, s *suite.Suite) string {
	t.Helper()
	r, err := s.Shop.Floor.ListBoard(t.Context(), &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_READY}, PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range r.Lines {
		for _, n := range l.Next {
			if n.State == workflowv1.Stage_STATE_READY && len(n.Assigned) == 0 {
				return n.Stage
			}
		}
	}
	t.Fatal("nothing is ready")
	return ""
}

// A helper clocks on elsewhere, and the owner sees it without touching anything.
func TestDay_ChangesLive(t *testing.T) {
	s := floor(t)
	who, err := s.Shop.People.AddPerson(byOwner(t), &workflowv1.AddPersonRequest{RequestId: newID(), DisplayName: "Live " + newID()[24:]})
	if err != nil {
		t.Fatal(err)
	}
	name := who.Person.DisplayName
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	b.open("/day")
	b.see("they are not on the clock", fmt.Sprintf(`document.querySelector("#day-work").parentElement.innerText.includes(%q)`, name))
	ask[int](b, `window.neverReloaded = 1`)
	onClock := fmt.Sprintf(`[...document.querySelectorAll("#day-work ~ ul strong")].some(x => x.innerText === %q) && window.neverReloaded === 1`, name)
	ctx := caller.With(t.Context(), caller.Caller{Actor: name})
	if _, err := s.Shop.Clocks.ClockOn(ctx, &workflowv1.ClockOnRequest{RequestId: newID(), Person: who.Person.Name, Indirect: "cleaning"}); err != nil {
		t.Fatal(err)
	}
	b.see("they are at work now", onClock)
	if _, err := s.Shop.Clocks.ClockOff(ctx, &workflowv1.ClockOffRequest{RequestId: newID(), Person: who.Person.Name}); err != nil {
		t.Fatal(err)
	}
	b.see("they are off again", "!("+onClock+") && window.neverReloaded === 1")
}

func TestDay_IsNotForHelpers(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "403")
	b.signIn(helper, helperSecret)
	for _, path := range []string{"/day", "/day/give?stage=" + firstReady(t, s), "/day/review/1", "/day/part/floor"} {
		b.open(path)
		if text := b.text("body"); !strings.Contains(text, "for the lead and the owner") || strings.Contains(text, "Anselm") {
			t.Errorf("a helper at %s reads:\n%s", path, text)
		}
		b.fair()
	}
}

// A stage is given to somebody with the keyboard alone.
func TestDay_Give(t *testing.T) {
	s := floor(t)
	stage := firstReady(t, s)
	b := window(t, s.PagesURL(), phone)
	b.signIn(owner, ownerSecret)
	b.open("/day/give?stage=" + stage)
	who := ask[string](b, `document.querySelector("fieldset label").innerText.trim()`)
	b.do(chromedp.Focus("fieldset input[type=radio]"), chromedp.KeyEvent(" "), chromedp.KeyEvent("\r"), chromedp.WaitVisible(".said"))
	b.see("it says so", `location.pathname === "/day" && document.querySelector(".said").innerText === "Given."`)
	got, err := s.Shop.Stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: stage})
	if err != nil || got.Stage.AssigneeName != who {
		t.Errorf("it is with %q, %v; want %q", got.GetStage().GetAssigneeName(), err, who)
	}
}

func TestDay_BadForms(t *testing.T) {
	s := floor(t)
	stage := firstReady(t, s)
	b := window(t, s.PagesURL(), desk)
	b.forgive = append(b.forgive, "403", "404", "413")
	b.signIn(owner, ownerSecret)
	b.open("/day/give?stage=" + stage)
	ask[string](b, `document.querySelector("main input[name=form]").value = "of another session"`)
	b.do(click("main form .do"), chromedp.WaitVisible(`main a[href="/"]`))
	b.see("the page is too old", `document.body.innerText.includes("opened before you signed in")`)
	ask[int](b, `fetch("/day/give", {method: "POST", headers: {"Content-Type": "application/x-www-form-urlencoded"}, body: "stage=" + "x".repeat(5 << 20)}).then((r) => { window.told = r.status; }) && 0`)
	b.see("a form of 5 MB is refused", `window.told === 413`)
	b.open("/day/give?stage=pieces/0198e9a0-0000-7000-8000-000000000000/stages/0198e9a0-0000-7000-8000-000000000001")
	b.see("there is no such stage", `/There is no stage|not found|no such stage|There is no/i.test(document.querySelector("main").innerText)`)
	if got, err := s.Shop.Stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: stage}); err != nil || got.Stage.Assignee != "" {
		t.Errorf("after all that the stage is %v, %v", got, err)
	}
}

// What people type stays text.
func TestDay_ScriptIsInert(t *testing.T) {
	s := floor(t)
	const script = `<img src=x onerror="window.owned=1"><script>window.owned=1</script>`
	piece := takenIn(t, s, script)
	if _, err := s.Shop.Stages.PromisePiece(byOwner(t), &workflowv1.PromisePieceRequest{RequestId: newID(), Piece: piece.Name, PromiseTime: timestamppb.New(time.Now().Add(time.Hour))}); err != nil {
		t.Fatal(err)
	}
	who, err := s.Shop.People.AddPerson(byOwner(t), &workflowv1.AddPersonRequest{RequestId: newID(), DisplayName: `<script>window.owned=1</script>`})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shop.Clocks.ClockOn(byOwner(t), &workflowv1.ClockOnRequest{RequestId: newID(), Person: who.Person.Name, Indirect: "training"}); err != nil {
		t.Fatal(err)
	}
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	for _, path := range []string{"/day", "/pieces?find=onerror", "/pieces?find=%3Cscript%3Ewindow.owned%3D1%3C%2Fscript%3E", "/day/give?stage=" + firstReady(t, s)} {
		b.open(path)
		b.see("the page with what was typed as text: "+path, `document.body.innerText.includes("window.owned=1") || document.querySelector("input[type=search]") && document.querySelector("input[type=search]").value.includes("window.owned=1")`)
		if owned := ask[bool](b, `window.owned !== undefined`); owned {
			t.Errorf("%s ran what somebody typed", path)
		}
	}
}
