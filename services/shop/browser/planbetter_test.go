package browser_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// theirs are the stages that the plan has with somebody and that are theirs.
func theirs(t *testing.T, s *suite.Suite, name string) map[string]*workflowv1.PlacedStage {
	t.Helper()
	r, err := s.Shop.Planning.GetFloorPlan(byOwner(t), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*workflowv1.PlacedStage{}
	for _, p := range r.Plan.Stages {
		if p.PersonName == name && p.Assigned && !p.InWork {
			out[p.Stage] = p
		}
	}
	return out
}

// A better plan is looked for while the page stays, then published; and whoever was given something has it on their
// own page.
func TestPlan_BetterIsPublished(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.signIn(lead, leadSecret)
	longLooks(b, "plan-better", "/plan/better")
	before := theirs(t, s, helper)
	b.open("/plan")
	b.do(click(`a[href="/plan/better"]`), chromedp.WaitVisible("#better"))
	ask[int](b, `(() => { window.neverReloaded = 1; const s = document.querySelector("select[name=seconds]"); s.options[0].value = "1"; s.selectedIndex = 0;
		new MutationObserver(() => { window.wasLooking = window.wasLooking || !!document.querySelector("#better-out progress"); }).observe(document.querySelector("#better-out"), {childList: true}); return 0; })()`)
	b.do(click("#better .do"), chromedp.WaitVisible("#h-found"))
	b.see("what was found, on the same page, with the focus on it", `window.neverReloaded && window.wasLooking && document.activeElement.id === "h-found" && !document.querySelector("progress") &&
		document.querySelectorAll(".costs tbody tr").length === 5 && document.querySelector("#better-says").innerText === "" && !document.querySelector("#better .do").disabled`)
	b.fair()
	b.do(chromedp.EmulateViewport(phone, 800))
	b.fair()
	b.picture("plan-found-320")
	b.do(chromedp.EmulateViewport(desk, 800))
	b.do(click(`form[action="/plan/publish"] .do`), chromedp.WaitVisible("#h-published"))
	b.fair()
	b.open("/plan?over=week")
	b.see("when it was published", `document.querySelector("[data-live]").innerText.includes("The plan that people know was published")`)
	given := ""
	for stage, p := range theirs(t, s, helper) {
		if before[stage] == nil {
			given = fmt.Sprintf("%d", p.PieceTag)
		}
	}
	if given == "" {
		t.Fatalf("nothing was given to %s by the plan", helper)
	}
	their := window(t, s.PagesURL(), phone)
	their.signIn(helper, helperSecret)
	their.open("/bench")
	their.see("piece "+given+" is theirs", fmt.Sprintf(`document.querySelector("#jobs").innerText.includes(%q) || document.querySelector("#next").innerText.includes(%q)`, given, given))
}

// Without scripts the page waits, and then has what was found.
func TestPlan_BetterWithoutScript(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.signIn(lead, leadSecret)
	b.open("/plan/better")
	// The form is sent as a browser without scripts would: a submission that no listener hears of.
	ask[int](b, `(() => { const s = document.querySelector("select[name=seconds]"); s.options[0].value = "1"; s.selectedIndex = 0; HTMLFormElement.prototype.submit.call(document.querySelector("#better")); return 0; })()`)
	b.do(chromedp.WaitVisible("#h-found"))
	if where := ask[string](b, `location.pathname`); where != "/plan/better" || !strings.HasPrefix(ask[string](b, `document.querySelector("input[name=proposal]").value`), "proposals/") {
		t.Errorf("it is at %s", where)
	}
	b.fair()
}
