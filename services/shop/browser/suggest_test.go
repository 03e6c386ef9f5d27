package browser_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// A day is suggested for a promise, taken into the form without another page, and then promised.
func TestPiece_SuggestedPromise(t *testing.T) {
	s := floor(t)
	plan, err := s.Shop.Planning.GetFloorPlan(byOwner(t), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	tag := ""
	for _, p := range plan.Plan.Pieces {
		if p.EndTime != nil && p.PromiseTime == nil {
			tag = tagOf(p.PieceTag)
		}
	}
	b := window(t, s.PagesURL(), phone)
	b.signIn(lead, leadSecret)
	b.open("/pieces/" + tag)
	b.do(click("#do-promise summary"), click(`#do-promise button[formaction]`), chromedp.WaitVisible("#h-suggested"))
	b.fair()
	b.picture("piece-suggest-320")
	ask[int](b, `window.neverReloaded = 1`)
	day := ask[string](b, `document.querySelector(".suggested [data-day]").dataset.day`)
	b.do(click(".suggested [data-day]"))
	b.see("the day is in the form, on the same page", `window.neverReloaded && document.querySelector("#do-promise [name=day]").value === "`+day+`" && document.querySelector("#do-promise [name=time]").value !== "" && document.activeElement.name === "day"`)
	b.do(click("#do-promise .do"), chromedp.WaitVisible(".said"))
	if p := promiseOf(t, s, tag); p == nil || p.AsTime().In(chicago(t)).Format("2006-01-02") != day {
		t.Errorf("it is promised for %v, want %s", p.AsTime(), day)
	}
}

func tagOf(tag int32) string { return strconv.Itoa(int(tag)) }

func chicago(t *testing.T) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// promiseOf is until when a piece is promised by the plan; nil: it is not.
func promiseOf(t *testing.T, s *suite.Suite, tag string) *timestamppb.Timestamp {
	t.Helper()
	plan, err := s.Shop.Planning.GetFloorPlan(byOwner(t), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range plan.Plan.Pieces {
		if tagOf(p.PieceTag) == tag {
			return p.PromiseTime
		}
	}
	return nil
}
