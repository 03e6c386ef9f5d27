package piece_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestPiece_ShowsAllToItsOwner(t *testing.T) {
	b := setup(t)
	w := b.get("owner", "/pieces/401")
	b.says(w, http.StatusOK, "a barn sale", "Long rack", "Hollow &amp; Daughter", "ready to work on", // how it stands
		"walnut", "Walnut stain", "25 µm", "to be done again", "presume lead", // layers
		"hours of hands are left", "Anselm, Bao", "by the plan", "recoat before", // plan
	)
	b.says(w, http.StatusOK, "took a call before clocking off", "<s>1:00</s>", // clock
		"Millrace Supply", "K17", "8.41", "amount not known", // material
		`alt="a defect, case: runs on the left"`, "/photos/7/thumbnail",
		"62.5 %", "80.03", "640.00, the asking price now", "2 needs are left out", "the week is not over", "/why/"+theEvent,
		"Bought from a barn sale and taken in, for 77.13.", "Stain (top) was finished.", "Listed for sale on window, for 640.00.")
	b.keeps(w, "<script>alert", "[piece.", "[kind.", "%!", "ZgotmplZ")
	// What was corrected counts neither on the stage nor in the sum, and what was earned is no cost.
	b.keeps(w, "1:40", "1:50", "−5.00")
}

// Of a piece that was sold before all was done the page says what is open as a fact. Nobody is to do it, so
// it tells neither hours left nor when it could be done; what was worked is there as before.
func TestPiece_SoldTellsNothingToCome(t *testing.T) {
	b := setup(t)
	for _, page := range []string{"/pieces/401", "/pieces/401/part/floor"} {
		b.says(b.get("owner", page), http.StatusOK, "hours of hands are left", "at the earliest")
	}
	sell(b)
	for _, who := range []string{"owner", "helper"} {
		w := b.get(who, "/pieces/401")
		b.says(w, http.StatusOK, "It was sold; open: topcoat coat (top),", "inspect.", "sold on", "Walnut stain", "Anselm, Bao")
		b.keeps(w, "hours of hands are left", "at the earliest", "hours to come", "recoat before", "[piece.", "%!")
	}
	b.keeps(b.get("owner", "/pieces/401/part/floor"), "hours of hands are left", "at the earliest", "[piece.")
}

// sell has the piece be sold with some of its stages open.
func sell(b *bundle) {
	listing := b.answers["GetListing"].(*salesv1.GetListingResponse).Listing
	listing.State, listing.Sales = salesv1.Listing_STATE_SOLD, []*salesv1.Sale{{Name: "sales/1", Price: usd(600, 0), SaleTime: ago(time.Hour)}}
	b.answers["GetPieceCost"].(*costingv1.GetPieceCostResponse).PieceCost.State = costingv1.PieceCost_STATE_SOLD
	line := b.answers["ListBoard"].(*workflowv1.ListBoardResponse).Lines[0]
	line.State, line.Next = workflowv1.BoardLine_STATE_SOLD, nil
}

func TestPiece_SaysTheSameInSpanish(t *testing.T) {
	b := setup(t)
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "/pieces/401", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept-Language", "es-ES")
	w := b.send(r, "owner")
	b.says(w, http.StatusOK, "Capas", "mano de tinte", "nogal", "sin dato", "En qué se apoya", "Mano de tinte (top): terminado.", "Comprada en a barn sale y recibida, por 77,13.", "Puesta a la venta en window")
	b.keeps(w, "[piece.", "%!", "stain coat")
}

// Of a coat for which nobody chose a product the layers name what was taken for it, unless that was a slip.
func TestPiece_NamesWhatWasIssued(t *testing.T) {
	b := setup(t)
	stages := b.answers["ListStages"].(*workflowv1.ListStagesResponse).Stages
	issues := b.answers["ListIssues"].(*materialsv1.ListIssuesResponse)
	stages[4].Product, stages[4].ProductName = "", ""
	w := b.get("owner", "/pieces/401/part/floor")
	b.says(w, http.StatusOK, "no product chosen")
	issues.Issues = append(issues.Issues, &materialsv1.Issue{Name: "products/wrong/issues/2", ProductName: "Wrong can", Stage: stages[4].Name, TakenBack: true},
		&materialsv1.Issue{Name: "products/block/issues/3", ProductName: "Shellac blocker", Stage: stages[4].Name})
	w = b.get("owner", "/pieces/401/part/floor")
	b.says(w, http.StatusOK, "Shellac blocker")
	b.keeps(w, "no product chosen", "Wrong can")
}

// What the books say ends where more is said behind it, and stations are called as people call them.
func TestPiece_SaysWholeSentences(t *testing.T) {
	b := setup(t)
	b.answers["ListCostLines"].(*costingv1.ListCostLinesResponse).Lines[0].Says = "bought at a sale."
	b.answers["workflow ListPieceEvents"].(*eventsv1.ListPieceEventsResponse).Events[0].Payload = &eventsv1.Envelope_PieceMoved{PieceMoved: &eventsv1.PieceMoved{Station: "rack"}}
	for _, page := range []string{"/pieces/401", "/pieces/401/why/" + theEvent} {
		w := b.get("owner", page)
		b.says(w, http.StatusOK, "bought at a sale, Bao")
		b.keeps(w, ".,")
	}
	for _, page := range []string{"/pieces/401", "/pieces/401/story"} {
		b.says(b.get("owner", page), http.StatusOK, "carried to Long rack")
	}
}

// What English names, of stages and accounts, is said in Spanish too, and two coats of one kind are told apart.
func TestPiece_NamesInSpanish(t *testing.T) {
	b := setup(t)
	stages := b.answers["ListStages"].(*workflowv1.ListStagesResponse)
	first, second := stage("oil-1", "oil_coat", "top", "Tung oil", workflowv1.Stage_STATE_READY), stage("oil-2", "oil_coat", "top", "Tung oil", workflowv1.Stage_STATE_WAITING)
	stages.Stages = append(stages.Stages, first, second)
	b.answers["ListCostLines"].(*costingv1.ListCostLinesResponse).Lines[0].Account = "work_in_process"
	b.answers["ListNeeds"].(*materialsv1.ListNeedsResponse).Needs[0].StageKind = "topcoat_coat"
	b.answers["ListNeeds"].(*materialsv1.ListNeedsResponse).Needs[1].StageKind = "paint_coat"
	b.says(b.get("owner", "/pieces/401"), http.StatusOK, "oil coat 1", "oil coat 2", "paint (case) (paint coat)", "Work in process")
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "/pieces/401", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept-Language", "es-ES")
	w := b.send(r, "owner")
	b.says(w, http.StatusOK, "mano de aceite 1", "mano de aceite 2", "mano de pintura (case):", "mano de acabado (top)", "Trabajo en curso")
	b.keeps(w, "paint (case)", "topcoat (top)", "Work in process", ">oil-1")
}

// A helper sees the work and their own hours, and no money: nor is the shop asked for any.
func TestPiece_KeepsMoneyFromHelpers(t *testing.T) {
	b := setup(t)
	w := b.get("helper", "/pieces/401")
	b.says(w, http.StatusOK, "Walnut stain", "My time on it")
	b.keeps(w, "8.41", "126.74", "77.13", "640.00", "Promise …", "Send back …")
	for _, method := range []string{"GetPieceCost", "ListCostLines", "PriceWhatIf", "ListOutsideWork"} {
		if b.asked[method] != nil {
			t.Errorf("a helper's page asks for %s", method)
		}
	}
	if person := b.asked["ListClockEntries"].(*workflowv1.ListClockEntriesRequest).Person; person != "people/helper" {
		t.Errorf("a helper's page asks for the hours of %q", person)
	}
	money := b.get("helper", "/pieces/401/part/money")
	b.keeps(money, "126.74", "The books have not heard")
	b.says(money, http.StatusOK, "is for the owner of the shop")
}

// What is away leaves its band empty, and says so; the rest of the page is there.
func TestPiece_DoesWithoutABand(t *testing.T) {
	away := fault.New(fault.Unavailable, "AWAY", "It is away.")
	for method, kept := range map[string]string{"GetPieceCost": "Walnut stain", "ListStages": "Pine dresser", "ListPhotos": "Walnut stain", "ListIssues": "126.74", "ListBoard": "Walnut stain", "PriceWhatIf": "126.74", "GetProduct": "Walnut stain"} {
		b := setup(t)
		b.refuses[method] = away
		want := []string{kept}
		if method != "GetProduct" {
			want = append(want, "This cannot be read at the moment")
		}
		if method == "PriceWhatIf" {
			want = want[1:]
		}
		b.says(b.get("owner", "/pieces/401"), http.StatusOK, want...)
	}
}

// A piece that just came in: nobody planned, assessed, tested, photographed, listed or booked anything.
func TestPiece_JustCameIn(t *testing.T) {
	b := setup(t)
	keep := map[string]bool{"GetPiece": true, "GetShop": true}
	for name := range b.answers {
		if !keep[name] {
			delete(b.answers, name)
		}
	}
	b.refuses["GetFinishPlan"] = fault.New(fault.NotFound, "PLAN_NOT_FOUND", "None.")
	b.refuses["GetListing"] = fault.New(fault.NotFound, "LISTING_NOT_FOUND", "None.")
	for _, method := range []string{"GetPieceCost", "ListCostLines", "ListStages", "ListClockEntries", "ListDryClocks"} {
		b.refuses[method] = fault.New(fault.NotFound, "PIECE_NOT_FOUND", "Not yet.")
	}
	w := b.get("owner", "/pieces/401")
	b.says(w, http.StatusOK, "The floor has not heard of it yet.", "Nobody assessed it", "No stages are laid out yet.", "The books have not heard of it yet.", "presume lead")
}

func TestPiece_ThatIsNotThere(t *testing.T) {
	b := setup(t)
	b.refuses["GetPiece"] = fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no piece with the tag 999.")
	for _, path := range []string{"/pieces/999", "/pieces/999/story", "/pieces/999/part/floor", "/pieces/999/tag", "/pieces/999/why/" + theEvent} {
		b.says(b.get("lead", path), http.StatusNotFound, "There is no piece with the tag 999.")
	}
}

func TestParts_AreWhatThePageHolds(t *testing.T) {
	b := setup(t)
	whole := b.get("owner", "/pieces/401").Body.String()
	for _, part := range []string{"now", "floor", "stock", "money"} {
		w := b.get("owner", "/pieces/401/part/"+part)
		text := w.Body.String()
		if w.Code != http.StatusOK || len(text) < 100 || !strings.Contains(whole, text) {
			t.Errorf("part %s (status %d, %d bytes) is not as in the page", part, w.Code, len(text))
		}
	}
}

// The forecast goes by the price that was typed, then the asking price, then what the piece is worth.
func TestForecast_LeansOn(t *testing.T) {
	price := func(b *bundle) int64 { return b.asked["PriceWhatIf"].(*costingv1.PriceWhatIfRequest).Price.Units }
	b := setup(t)
	b.says(b.get("owner", "/pieces/401"), http.StatusOK, "the asking price now")
	asked := b.asked["PriceWhatIf"].(*costingv1.PriceWhatIfRequest)
	// Open: 45 min of topcoat, 35 of paint (10 of 45 are worked), 45 of inspection.
	if got := asked.TimeToCome.AsDuration(); got != 125*time.Minute {
		t.Errorf("hands to come: %v, want 2h5m", got)
	}
	// 0.3 L of 3 L that cost 100.00.
	if got := asked.MaterialToCome; got.Units != 10 || got.Nanos != 0 {
		t.Errorf("material to come: %v, want 10.00", got)
	}
	b.says(b.get("owner", "/pieces/401?price=700,50&fee=12"), http.StatusOK, "as you typed it", `value="700,50"`, `value="12"`, "part/money?fee=12&amp;price=700%2C50")
	if got := b.asked["PriceWhatIf"].(*costingv1.PriceWhatIfRequest); got.Price.Units != 700 || got.Price.Nanos != 500_000_000 || got.FeePercent != "12" {
		t.Errorf("asked with %v", got)
	}
	b.refuses["GetListing"] = fault.New(fault.NotFound, "LISTING_NOT_FOUND", "None.")
	if b.get("owner", "/pieces/401"); price(b) != 360 {
		t.Errorf("asked with %d, want what it is worth", price(b))
	}
	b.says(b.get("owner", "/pieces/401?price=lots"), http.StatusOK, "is not an amount of money", `value="lots"`, "126.74")
}

func TestWhy_OpensTheEvent(t *testing.T) {
	b := setup(t)
	b.says(b.get("owner", "/pieces/401/why/"+theEvent), http.StatusOK, "clocked off", "Bao", "41.20", "5.00", "Work in process", "workflow, number 9")
	b.refuses["ListCostLines"] = fault.New(fault.Denied, "ROLE_TOO_LOW", "Only owners may see this.")
	b.says(b.get("lead", "/pieces/401/why/"+theEvent), http.StatusForbidden, "Only owners may see this.")
}

func TestStory_GoesOn(t *testing.T) {
	b := setup(t)
	b.says(b.get("helper", "/pieces/401/story"), http.StatusOK, "and taken in", "noted", "was finished", "Listed for sale")
	all := b.answers["workflow ListPieceEvents"].(*eventsv1.ListPieceEventsResponse)
	for range 120 {
		all.Events = append(all.Events, all.Events[0])
	}
	first, rest := b.get("helper", "/pieces/401/story"), b.get("helper", "/pieces/401/story?after=100")
	b.says(first, http.StatusOK, "and taken in", `href="/pieces/401/story?after=100"`)
	b.keeps(first, "Listed for sale")
	b.says(rest, http.StatusOK, "Listed for sale")
	b.keeps(rest, "taken in", "after=")
	for _, odd := range []string{"x", "-5", "9999"} {
		b.says(b.get("helper", "/pieces/401/story?after="+odd), http.StatusOK, "everything that happened")
	}
	if n := strings.Count(first.Body.String()+rest.Body.String(), "was finished"); n != 121 {
		t.Errorf("the two pages tell of %d finished stages, want 121", n)
	}
}

// What a service that is away noted is missing, and the page says so; the others' is there.
func TestStory_WithoutAService(t *testing.T) {
	b := setup(t)
	b.refuses["sales ListPieceEvents"] = fault.New(fault.Unavailable, "AWAY", "It is away.")
	for _, path := range []string{"/pieces/401/story", "/pieces/401/part/floor"} {
		w := b.get("lead", path)
		b.says(w, http.StatusOK, "and taken in", "was finished", "This cannot be read at the moment")
		b.keeps(w, "Listed for sale")
	}
}

func TestCommands(t *testing.T) {
	stage := thePiece + "/stages/prime-case"
	for path, c := range map[string]struct {
		fields url.Values
		method string
		want   []string
	}{
		"promise":   {url.Values{"day": {"2026-03-20"}, "time": {"17:30"}, "value": {"380"}}, "PromisePiece", []string{`seconds:1774045800`, "units:380"}},
		"move":      {url.Values{"part": {thePiece + "/parts/top"}, "station": {"stations/rack"}}, "MovePiece", []string{"stations/rack", "parts/top"}},
		"send-back": {url.Values{"stage": {stage}, "reason": {"runs"}}, "SendBackStage", []string{"runs", stage}},
		"send-out":  {url.Values{"firm": {"Hollow"}, "kind": {"upholstery"}, "due": {"2026-03-25"}, "quoted": {"145,00"}}, "SendOut", []string{"Hollow", "day:25", "units:145"}},
		"receive":   {url.Values{"outside": {"outsideWork/1"}, "undone": {"yes"}}, "ReceiveOutsideWork", []string{"outsideWork/1", "called_off:true"}},
	} {
		b := setup(t)
		c.fields.Set("request_id", "018f3b8e-0000-7000-8000-00000000abcd")
		w := b.post("lead", "/pieces/401/"+path, c.fields)
		if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/pieces/401" {
			t.Errorf("%s: status %d to %q: %s", path, w.Code, w.Header().Get("Location"), w.Body)
		}
		asked := strings.ReplaceAll(text(b.asked[c.method]), " ", "")
		for _, want := range append(c.want, "00000000abcd") {
			if !strings.Contains(asked, want) {
				t.Errorf("%s: asked %s, want %s in it", path, asked, want)
			}
		}
	}
}

// A promise by a day alone is until the shop closes on it, by the hours of those who work then, and else until the
// day is over; and the form says so.
func TestPromise_ByDay(t *testing.T) {
	b := setup(t)
	for day, want := range map[string]time.Time{
		"2026-12-18": time.Date(2026, 12, 18, 23, 30, 0, 0, time.UTC),   // a Friday: 17:30 in Chicago
		"2026-12-20": time.Date(2026, 12, 21, 5, 59, 59, 0, time.UTC)} { // a Sunday
		b.answers["ListPeople"] = &workflowv1.ListPeopleResponse{People: []*workflowv1.Person{{WorkingDays: []*workflowv1.WorkingDay{{Day: dayofweek.DayOfWeek_FRIDAY,
			Start: &timeofday.TimeOfDay{Hours: 8}, End: &timeofday.TimeOfDay{Hours: 17, Minutes: 30}}}}}}
		b.post("lead", "/pieces/401/promise", url.Values{"day": {day}, "time": {""}})
		if got := b.asked["PromisePiece"].(*workflowv1.PromisePieceRequest).PromiseTime.AsTime(); !got.Equal(want) {
			t.Errorf("promised for %s: until %s, want %s", day, got, want)
		}
	}
	b.says(b.get("lead", "/pieces/401"), http.StatusOK, "Without a time it is promised until the last of those leave who work that day, or until the day ends")
}

// What is refused keeps what was typed, and says why; what cannot be read is not sent at all.
func TestCommands_Refused(t *testing.T) {
	b := setup(t)
	b.refuses["SendBackStage"] = fault.New(fault.Precondition, "STAGE_NOT_FINISHED", "That stage is not finished.")
	w := b.post("lead", "/pieces/401/send-back", url.Values{"stage": {thePiece + "/stages/prime-case"}, "reason": {`"sags" <b>`}})
	b.says(w, http.StatusUnprocessableEntity, "That stage is not finished.", `value="&#34;sags&#34; &lt;b&gt;"`, `id="do-send-back" open`)
	w = b.post("lead", "/pieces/401/promise", url.Values{"day": {"soon"}})
	b.says(w, http.StatusBadRequest, "is not a day", `value="soon"`)
	w = b.post("lead", "/pieces/401/send-out", url.Values{"firm": {"Hollow"}})
	b.says(w, http.StatusBadRequest, "Say on which day it is due back.", `value="Hollow"`)
	for _, method := range []string{"PromisePiece", "SendOut"} {
		if b.asked[method] != nil {
			t.Errorf("%s was sent all the same", method)
		}
	}
	b.refuses["PromisePiece"] = fault.New(fault.Denied, "ROLE_TOO_LOW", "Only leads may.")
	b.says(b.post("helper", "/pieces/401/promise", url.Values{}), http.StatusForbidden, "Only leads may.")
}

func TestShownPhotos_NoneKept(t *testing.T) {
	b := setup(t)
	b.answers["ListPhotos"] = &intakev1.ListPhotosResponse{}
	b.says(b.get("helper", "/pieces/401"), http.StatusOK, "No photo yet.", "Add a photo")
}
