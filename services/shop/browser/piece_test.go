package browser_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// sideboard is a sideboard that is to be painted by a finish plan, with data sheets of what it is done with;
// its title is what somebody wicked might type.
func sideboard(t *testing.T, s *suite.Suite, title string) *intakev1.Piece {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: owner})
	in, err := s.Shop.Intake.TakeInPiece(ctx, &intakev1.TakeInPieceRequest{RequestId: newID(), Title: title, Kind: "sideboard",
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: &moneyv1.Money{CurrencyCode: "USD", Units: 77, Nanos: 130_000_000}, Source: "an estate sale"}},
		Parts:  []*intakev1.Part{{Label: "top", Count: 1}}})
	if err != nil {
		t.Fatal(err)
	}
	paint := coatOf(ctx, t, s, &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_WATER_ACRYLIC, Carrier: typev1.Carrier_CARRIER_WATER, VolumeSolidsPercent: 40, DryFilmUm: 40, RecoatMinutes: 120, SandMinutes: 120, CureMinutes: 10000})
	clear := coatOf(ctx, t, s, &typev1.CoatingSheet{Family: typev1.FilmFamily_FILM_FAMILY_WATER_POLYURETHANE, Carrier: typev1.Carrier_CARRIER_WATER, VolumeSolidsPercent: 30, DryFilmUm: 20, RecoatMinutes: 120, SandMinutes: 120, CureMinutes: 10000})
	_, err = s.Shop.Finish.DraftFinishPlan(ctx, &workflowv1.DraftFinishPlanRequest{RequestId: newID(), Piece: in.Piece.Name,
		Parts: []*workflowv1.PartWish{{Part: in.Piece.Parts[0].Name, AreaM2: 1, Look: "paint", Coats: 2, Topcoats: 2, Assessment: &workflowv1.Assessment{
			Material: workflowv1.Assessment_MATERIAL_SOLID_WOOD, Species: "maple", OldFinish: "alkyd or oil varnish", PaintedIn: 1999}}},
		Products: []*workflowv1.ChosenProduct{{Use: workflowv1.ProductUse_PRODUCT_USE_PAINT, Product: paint}, {Use: workflowv1.ProductUse_PRODUCT_USE_TOPCOAT, Product: clear}}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shop.Finish.ApproveFinishPlan(ctx, &workflowv1.ApproveFinishPlanRequest{RequestId: newID(), Piece: in.Piece.Name}); err != nil {
		t.Fatal(err)
	}
	return in.Piece
}

func coatOf(ctx context.Context, t *testing.T, s *suite.Suite, sheet *typev1.CoatingSheet) string {
	t.Helper()
	p, err := s.Shop.Materials.AddProduct(ctx, &materialsv1.AddProductRequest{RequestId: newID(), DisplayName: "Coat " + newID(), Unit: "L"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shop.Materials.SetCoatingSheet(ctx, &materialsv1.SetCoatingSheetRequest{RequestId: newID(), Product: p.Product.Name, CoatingSheet: sheet}); err != nil {
		t.Fatal(err)
	}
	return p.Product.Name
}

func pageOf(p *intakev1.Piece) string { return fmt.Sprintf("/pieces/%d", p.Tag) }

func TestPiece_Looks(t *testing.T) {
	s := floor(t)
	p := sideboard(t, s, "Maple sideboard")
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	looks(t, b, "piece-planned", pageOf(p))
	looks(t, b, "piece-422", "/pieces/422")
	looks(t, b, "tag-401", "/pieces/401/tag")
	looks(t, b, "story", "/pieces/422/story")
	b.open("/pieces/422")
	looks(t, b, "why", ask[string](b, `new URL(document.querySelector("#sheet-labour a").href).pathname`))
	if !strings.Contains(b.text("main"), "Work in process") {
		t.Errorf("the event behind labour says: %s", b.text("main"))
	}
}

// The films are drawn from the wood up, as thick to each other as their sheets say; the table has the same.
func TestPiece_DrawsItsLayers(t *testing.T) {
	s := floor(t)
	p := sideboard(t, s, "Maple sideboard")
	b := window(t, s.PagesURL(), desk)
	b.signIn(lead, leadSecret)
	b.open(pageOf(p))
	b.see("its cross-section", `document.querySelectorAll(".section polygon.film").length >= 5`)
	heights := ask[map[string]float64](b, `(() => { const of = (c) => [...document.querySelectorAll("polygon.film." + c)].at(-1).getBBox().height; return {paint: of("fm-water_acrylic"), clear: of("fm-water_polyurethane")}; })()`)
	if ratio := heights["paint"] / heights["clear"]; ratio < 1.98 || ratio > 2.02 {
		t.Errorf("40 µm of paint are drawn %v high, 20 µm of clear %v", heights["paint"], heights["clear"])
	}
	table := b.text(".legend")
	if top, found := strings.Index(table, "topcoat coat"), strings.Index(table, "what was found on it"); top < 0 || found < top {
		t.Errorf("the table is not from the top down:\n%s", table)
	}
}

// The page changes without being loaded anew when somebody clocks on, and what is open stays open.
func TestPiece_ChangesLive(t *testing.T) {
	s := floor(t)
	p := sideboard(t, s, "Maple sideboard")
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	b.open(pageOf(p))
	b.see("it is ready", `document.querySelector(".piece-now").innerText.includes("ready")`)
	b.do(click("#do-move > summary"))
	ask[bool](b, `window.same = true`)
	clocksOnAt(t, s, p, "Jovan")
	b.see("Jovan on it", `document.querySelector(".piece-now").innerText.includes("Jovan") && document.querySelector("#clock").parentElement.innerText.includes("Jovan")`)
	if !ask[bool](b, `window.same === true && document.querySelector("#do-move").open`) {
		t.Error("the page was loaded anew, or closed what was open")
	}
}

// clocksOnAt lets somebody clock on at the first stage that is ready.
func clocksOnAt(t *testing.T, s *suite.Suite, p *intakev1.Piece, name string) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: owner})
	person, err := s.Shop.Person(ctx, name)
	if err != nil {
		t.Fatal(err)
	}
	stages, err := s.Shop.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: p.Name})
	if err != nil {
		t.Fatal(err)
	}
	for _, st := range stages.Stages {
		if st.State != workflowv1.Stage_STATE_READY {
			continue
		}
		var read []string
		for _, c := range st.Cautions {
			read = append(read, c.Id)
		}
		_, err := s.Shop.Clocks.SwitchClock(ctx, &workflowv1.SwitchClockRequest{RequestId: newID(), Person: person.Name, Stage: st.Name, AcknowledgedCautions: read, OverrideReason: "to show it"})
		if fault.Is(err, "CLOCK_NOT_OPEN") {
			_, err = s.Shop.Clocks.ClockOn(ctx, &workflowv1.ClockOnRequest{RequestId: newID(), Person: person.Name, Stage: st.Name, AcknowledgedCautions: read, OverrideReason: "to show it"})
		}
		if err != nil {
			t.Fatal(err)
		}
		return
	}
	t.Fatal("no stage is ready")
}

// A promise is given with the keyboard alone, and one that cannot be read keeps what was typed.
func TestPiece_IsPromised(t *testing.T) {
	s := floor(t)
	p := sideboard(t, s, `Sideboard <img src=x onerror="document.title='hacked'">`)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "400")
	b.signIn(lead, leadSecret)
	b.open(pageOf(p))
	if title := b.text("h1"); !strings.Contains(title, "<img src=x onerror=") || ask[string](b, `document.title`) == "hacked" {
		t.Errorf("what was typed as a title is not inert: %q", title)
	}
	b.do(chromedp.Focus("#do-promise > summary"), chromedp.KeyEvent("\r"), chromedp.WaitVisible("#do-promise input[name=value]"),
		keys("#do-promise input[name=value]", "a lot"), chromedp.KeyEvent("\r"), chromedp.WaitVisible("main > [role=alert]"))
	b.see("why it is refused", `(document.querySelector("[role=alert]")||{innerText:""}).innerText.includes("a lot")`)
	due := time.Now().AddDate(0, 0, 3)
	b.do(chromedp.SetValue("#do-promise input[name=value]", "380"), chromedp.SetValue("#do-promise input[name=day]", due.Format(time.DateOnly)),
		chromedp.SetValue("#do-promise input[name=time]", "17:30"), click("#do-promise button"), chromedp.WaitVisible("main > .said"))
	b.see("the promise", `document.querySelector("[role=status]").innerText.includes("promise") && document.querySelector(".piece-now time").innerText.includes("5:30")`)
	b.fair()
}

// A photo is added from the page, shown with words for those who do not see it, and taken away.
func TestPiece_HasPhotos(t *testing.T) {
	s := floor(t)
	p := sideboard(t, s, "Maple sideboard")
	file := filepath.Join(t.TempDir(), "front.png")
	if err := os.WriteFile(file, pngOf(t), 0o600); err != nil {
		t.Fatal(err)
	}
	b := window(t, s.PagesURL(), phone)
	b.signIn(lead, leadSecret)
	b.open(pageOf(p))
	b.do(click("#photo-add > summary"), chromedp.SetValue("#photo-add select[name=moment]", "defect"), keys("#photo-add input[name=note]", "runs <on> the left"),
		chromedp.SetUploadFiles("#photo-add input[type=file]", []string{file}), click("#photo-add button"), chromedp.WaitVisible(".prints img"))
	b.see("the photo", `document.querySelector(".prints img") && document.querySelector(".prints img").alt === "a defect: runs <on> the left"`)
	b.do(chromedp.ScrollIntoView(".prints img"))
	b.see("the picture itself", `document.querySelector(".prints img").naturalWidth > 0`)
	b.fair()
	b.picture("photo-360")
	b.do(click(".prints summary"), keys(".prints input[name=reason]", "of another piece"), click(`.prints form[action$="/remove"] button`), chromedp.WaitNotPresent(".prints img"))
	b.see("it is gone", `!document.querySelector(".prints img") && document.querySelector("[role=status]").innerText.includes("taken away")`)
}

// A large photo goes in slices; of four that are lost on the way none is missing in the picture.
func TestPiece_APhotoOverAPoorNetwork(t *testing.T) {
	s := floor(t)
	p := sideboard(t, s, "Maple sideboard")
	file := filepath.Join(t.TempDir(), "front.png")
	if err := os.WriteFile(file, grainOf(t), 0o600); err != nil {
		t.Fatal(err)
	}
	b := window(t, s.PagesURL(), phone)
	b.signIn(lead, leadSecret)
	b.open(pageOf(p))
	b.do(click("#photo-add > summary"), chromedp.SetValue("#photo-add select[name=moment]", "after"), chromedp.Evaluate[chromedp.Void](`
		window.losses = 0; window.slices = 0;
		const whole = window.fetch;
		window.fetch = async (to, options) => {
			if (!options || options.method !== "POST") return whole(to, options);
			window.slices += 1;
			const lost = window.losses < 4 && window.slices % 2 === 0;
			if (lost) window.losses += 1;
			if (lost && window.losses % 2) throw new TypeError("no network"); // it never arrived
			const answer = await whole(to, options);
			if (lost) throw new TypeError("no network"); // it arrived, and its answer did not
			return answer;
		};
		window.addEventListener("pagehide", () => sessionStorage.setItem("lost", window.losses + " of " + window.slices));`),
		chromedp.SetUploadFiles("#photo-add input[type=file]", []string{file}), click("#photo-add button"), chromedp.WaitVisible(".prints img"))
	b.see("four were lost", `sessionStorage.getItem("lost").startsWith("4 of ")`)
	b.see("it is said", `document.querySelector("main > .said").innerText.includes("added")`)
	b.do(chromedp.ScrollIntoView(".prints img"))
	b.see("the picture itself", `document.querySelector(".prints img").naturalWidth > 0`)
	b.see("one photo", `document.querySelectorAll(".prints img").length === 1`)
}

// grainOf is a picture of a few slices, for no two places of it are alike.
func grainOf(t *testing.T) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 800, 600))
	grain := rand.New(rand.NewPCG(1, 2))
	for i := range m.Pix {
		m.Pix[i] = byte(grain.Uint32()) | 255*byte(i%4/3)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t *testing.T) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 640, 480))
	for y := range 480 {
		for x := range 640 {
			m.Set(x, y, color.RGBA{uint8(x / 3), uint8(y / 2), 90, 255})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A helper sees the work and no money; a piece that is not there is said so.
func TestPiece_OfAHelper(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "404", "403")
	b.signIn(helper, helperSecret)
	b.open("/pieces/422")
	if page := b.text("main"); strings.Contains(page, "All costs") || strings.Contains(page, "Cost, USD") || !strings.Contains(page, "Plan and drying") {
		t.Errorf("a helper reads:\n%s", page)
	}
	b.fair()
	b.open("/pieces/9876")
	if page := b.text("main"); !strings.Contains(page, "9876") {
		t.Errorf("a piece that is not there: %s", page)
	}
	b.open("/pieces/422/why/" + newID())
	if page := b.text("main"); !strings.Contains(page, "owner") {
		t.Errorf("what is not theirs: %s", page)
	}
}
