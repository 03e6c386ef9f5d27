package browser_test

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// placed finds where the plan has a stage.
func placed(t *testing.T, s *suite.Suite, stage string) *workflowv1.PlacedStage {
	t.Helper()
	r, err := s.Shop.Planning.GetFloorPlan(byOwner(t), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range r.Plan.Stages {
		if p.Stage == stage {
			return p
		}
	}
	t.Fatalf("the plan has no place for %s", stage)
	return nil
}

// movable is a stage in the chart that nobody has, wide enough to be taken by the mouse; its bar is in sight after.
func movable(b *tab) string {
	b.t.Helper()
	stage := ask[string](b, `(() => { const bar = [...document.querySelectorAll("a.bar.planned")].find(a => !a.dataset.personPinned && !a.dataset.timePinned && a.querySelector("rect").getBoundingClientRect().width > 14 &&
		document.querySelectorAll('a.bar[data-lane="' + a.dataset.lane + '"]').length > 1); if (bar) bar.scrollIntoView({block: "center"}); return bar ? bar.dataset.stage : ""; })()`)
	if stage == "" {
		b.t.Fatal("no bar of the chart can be moved")
	}
	return stage
}

// middle is where a bar is in the window.
func middle(b *tab, stage string) (x, y float64) {
	b.t.Helper()
	at := ask[[]float64](b, fmt.Sprintf(`(() => { const r = document.querySelector('a.bar[data-stage=%q] rect').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`, stage))
	return at[0], at[1]
}

// longLooks is looks for a page that on a phone is longer than a picture should be.
func longLooks(b *tab, name, path string) {
	b.t.Helper()
	for _, width := range []int64{phone, desk} {
		b.do(chromedp.EmulateViewport(width, 800))
		b.open(path)
		b.fair()
	}
	b.picture(name + "-1280")
}

func TestPlan_Looks(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	looks(t, b, "plan", "/plan")
	longLooks(b, "plan-week", "/plan?over=week")
	longLooks(b, "plan-piece", "/plan?over=week&by=piece")
	looks(t, b, "plan-station", "/plan?by=station")
	b.open("/plan?over=week")
	looks(t, b, "plan-stage", ask[string](b, `document.querySelector(".turn a[href^='/plan/stage/']").getAttribute("href")`))
	looks(t, b, "plan-calendar", "/plan/calendar")
	b.open("/plan/what-if")
	first := func(field string) string {
		return ask[string](b, `document.querySelector("select[name=`+field+`] option:nth-child(2)").value`)
	}
	longLooks(b, "plan-whatif", "/plan/what-if?person="+first("person")+"&first="+time.Now().AddDate(0, 0, 1).Format(time.DateOnly)+"&last="+time.Now().AddDate(0, 0, 4).Format(time.DateOnly)+"&route="+first("route"))
	b.open("/preferences")
	b.do(click("input[name=language][value=es]"), click("main form .do"), chromedp.WaitVisible(".said"))
	looks(t, b, "plan-es", "/plan")
}

// At a small phone's width the plan is a list of each helper's days; the chart is away, and all it says is there.
func TestPlan_PhoneHasAList(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.signIn(owner, ownerSecret)
	b.open("/plan?over=week")
	b.see("no chart, but each bar of it in the list", `!document.querySelector(".course").checkVisibility() && document.querySelectorAll("a.bar").length > 10 &&
		[...document.querySelectorAll("a.bar")].every(a => [...document.querySelectorAll(".turn a")].some(r => r.getAttribute("href") === a.getAttribute("href") && r.checkVisibility()))`)
}

// A bar is dragged an hour on with the mouse, and the plan keeps it there.
func TestPlan_Drag(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	b.open("/plan?over=week")
	stage := movable(b)
	before := placed(t, s, stage)
	x, y := middle(b, stage)
	mouse := func(kind input.DispatchMouseEventType, x, y float64) {
		t.Helper()
		b.do(chromedp.MouseEvent(kind, x, y, chromedp.ButtonLeft))
	}
	mouse(input.DispatchMouseEventTypeMousePressed, x, y)
	mouse(input.DispatchMouseEventTypeMouseMoved, x+30, y)
	b.see("where it would be", `document.querySelector(".ghost") && document.querySelector("#plan-says").innerText.includes("would be")`)
	b.do(chromedp.KeyEvent(kb.Escape))
	b.see("it is left", `!document.querySelector(".ghost") && document.querySelector("#plan-says").innerText.includes("Left")`)
	mouse(input.DispatchMouseEventTypeMouseReleased, x+30, y)
	if p := placed(t, s, stage); p.TimePinned || p.PersonPinned {
		t.Fatal("what was left is pinned")
	}
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('a.bar[data-stage="` + stage + `"]').scrollIntoView({block: "center"})`))
	x, y = middle(b, stage)
	mouse(input.DispatchMouseEventTypeMousePressed, x, y)
	mouse(input.DispatchMouseEventTypeMouseMoved, x+20, y)
	mouse(input.DispatchMouseEventTypeMouseMoved, x+40, y)
	ask[int](b, `window.neverReloaded = 1`)
	mouse(input.DispatchMouseEventTypeMouseReleased, x+40, y)
	b.see("it is pinned, on the same page", fmt.Sprintf(`window.neverReloaded && document.querySelector('a.bar[data-stage=%q]').dataset.timePinned && document.querySelector("#plan-says").innerText.startsWith("Pinned:")`, stage))
	p := placed(t, s, stage)
	if !p.TimePinned || !p.PersonPinned || p.Person != before.Person || !p.StartTime.AsTime().After(before.StartTime.AsTime()) || p.StartTime.AsTime().Minute()%5 != 0 {
		t.Errorf("it was with %s at %v, and is with %s at %v, pinned %t %t", before.PersonName, before.StartTime.AsTime(), p.PersonName, p.StartTime.AsTime(), p.PersonPinned, p.TimePinned)
	}
}

// The same by keyboard alone: along the bars, one taken up, moved twice, pinned, and freed again. The focus
// stays on it, and what happens elsewhere meanwhile does not take it out of the hand.
func TestPlan_ByKeyboard(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	b.open("/plan?over=week")
	stage := movable(b)
	before := placed(t, s, stage)
	on := fmt.Sprintf(`document.activeElement.dataset.stage === %q`, stage)
	ask[int](b, fmt.Sprintf(`document.querySelector('a.bar[data-stage=%q]').focus() || 0`, stage))
	b.see("one bar alone is on the way of the Tab key", on+` && document.querySelectorAll('a.bar[tabindex="0"]').length === 1 && document.activeElement.tabIndex === 0`)
	b.do(chromedp.KeyEvent(kb.ArrowRight))
	b.see("an arrow key goes to another bar", `document.activeElement.matches("a.bar") && !(`+on+`)`)
	ask[int](b, fmt.Sprintf(`document.querySelector('a.bar[data-stage=%q]').focus() || 0`, stage))
	b.do(chromedp.KeyEvent(" "), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.ArrowRight))
	b.see("it says where it would be", `document.querySelector(".ghost") && document.querySelector("#plan-says").innerText.includes("would be with")`)
	takenIn(t, s, "While a bar is held")
	b.see("it is still in hand", on+` && document.querySelector(".ghost")`)
	b.do(chromedp.KeyEvent("\r"))
	b.see("it is pinned and has the focus", on+` && document.activeElement.dataset.timePinned && !document.querySelector(".ghost")`)
	if p := placed(t, s, stage); !p.TimePinned || !p.StartTime.AsTime().After(before.StartTime.AsTime()) {
		t.Errorf("it was at %v, and is at %v, pinned %t", before.StartTime.AsTime(), p.StartTime.AsTime(), p.TimePinned)
	}
	looks(t, b, "plan-pinned", "/plan?over=week")
	b.do(chromedp.EmulateViewport(desk, 800))
	b.open("/plan?over=week")
	ask[int](b, fmt.Sprintf(`document.querySelector('a.bar[data-stage=%q]').focus() || 0`, stage))
	b.see("it has the focus again", on)
	b.do(chromedp.KeyEvent(kb.Delete))
	b.see("it is free again", on+` && !document.activeElement.dataset.timePinned && document.querySelector("#plan-says").innerText.includes("taken away")`)
	b.do(chromedp.KeyEvent("\r"))
	b.see("Enter opens its own page", `location.pathname.startsWith("/plan/stage/")`)
}

// Somebody else's pin shows without a reload, and the focus stays where it was.
func TestPlan_Live(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	b.open("/plan?over=week")
	stage := movable(b)
	ask[int](b, `(window.neverReloaded = 1) && document.querySelector("a.bar").focus() || 0`)
	id := ask[string](b, `document.activeElement.id`)
	if _, err := s.Shop.Planning.PinStage(byOwner(t), &workflowv1.PinStageRequest{RequestId: newID(), Stage: stage, Person: placed(t, s, stage).Person}); err != nil {
		t.Fatal(err)
	}
	b.see("the pin", fmt.Sprintf(`window.neverReloaded && document.querySelector('a.bar[data-stage=%q]').dataset.personPinned && document.activeElement.id === %q`, stage, id))
	if _, err := s.Shop.Planning.UnpinStage(byOwner(t), &workflowv1.UnpinStageRequest{RequestId: newID(), Stage: stage}); err != nil {
		t.Fatal(err)
	}
	b.see("it is gone", fmt.Sprintf(`window.neverReloaded && !document.querySelector('a.bar[data-stage=%q]').dataset.personPinned`, stage))
}

// A piece is supposed to be promised, what would be is shown, and then it is promised.
func TestPlan_WhatIf(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.signIn(owner, ownerSecret)
	b.open("/plan/what-if")
	piece := ask[string](b, `[...document.querySelectorAll("select[name=piece] option")].at(-1).value`)
	by := time.Now().AddDate(0, 0, 2).Format("2006-01-02") + "T16:30"
	ask[int](b, fmt.Sprintf(`(() => { document.querySelector("select[name=piece]").value = %q; document.querySelector("input[name=by]").value = %q; return 0; })()`, piece, by))
	b.do(click("main form .do"), chromedp.WaitVisible("#h-changes"))
	b.see("what would be, and nothing in it can be moved", `document.querySelector('form[action="/plan/promise"] .do') && !document.querySelector("a.bar") && document.querySelector(".course .bar")`)
	b.do(click(`form[action="/plan/promise"] .do`), chromedp.WaitVisible(".said"))
	r, err := s.Shop.Planning.GetFloorPlan(byOwner(t), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range r.Plan.Pieces {
		if p.Piece == piece && p.PromiseTime.AsTime().In(zone).Format("2006-01-02T15:04") != by {
			t.Errorf("it is promised by %v, want %s", p.PromiseTime.AsTime(), by)
		}
	}
}

// The address of a calendar is made on its page, and answers to a program that has nothing but it.
func TestPlan_Calendar(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.signIn(owner, ownerSecret)
	b.open("/plan")
	who := ask[string](b, `[...document.querySelectorAll(".turn")].map(x => x.closest("section").querySelector("h3").innerText)[0]`)
	b.open("/plan/calendar")
	ask[int](b, fmt.Sprintf(`(() => { const s = document.querySelector("select[name=person]"); s.value = [...s.options].find(o => o.text === %q).value; return 0; })()`, who))
	b.do(click("main form .do"), chromedp.WaitVisible(".address"))
	b.fair()
	address := b.text(".address")
	get := func(address string) (int, string) {
		t.Helper()
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
		if err != nil {
			t.Fatal(err)
		}
		got, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer got.Body.Close()
		body, err := io.ReadAll(got.Body)
		if err != nil {
			t.Fatal(err)
		}
		return got.StatusCode, string(body)
	}
	if status, body := get(address); status != 200 || !strings.HasPrefix(body, "BEGIN:VCALENDAR\r\n") || !strings.Contains(body, "BEGIN:VEVENT\r\n") || !strings.Contains(body, who) {
		t.Errorf("the calendar of %s: %d\n%.600s", who, status, body)
	}
	if status, body := get(strings.Replace(address, "tackfree_", "tackfree_x", 1)); status != 404 || !strings.Contains(body, "not let in") {
		t.Errorf("another secret: %d\n%.600s", status, body)
	}
}

func TestPlan_IsNotForHelpers(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "403")
	b.signIn(helper, helperSecret)
	for _, path := range []string{"/plan", "/plan/part/floor", "/plan/what-if", "/plan/calendar", "/plan/stage/1/2"} {
		b.open(path)
		b.see("whom "+path+" is for", `document.body.innerText.includes("for the lead and the owner")`)
		b.fair()
	}
}
