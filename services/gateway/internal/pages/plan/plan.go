// Package plan is the floor's plan: who does what, where and when, what dries between, and whether what was
// promised is likely to be kept.
//
//	workflow.GetFloorPlan ─▶ lanes of people, stations or pieces ─▶ chart (nights folded) ┐
//	                         rows by lane and day: the same in words ─────────────────────┼─▶ templates
//	                         outlooks ─▶ chances ─────────────────────────────────────────┘
//	drag, arrow keys, a small form ─▶ PinStage, UnpinStage
//	what if ─▶ CheckWhatIf: before and after of each piece ─▶ what of it can be done: PromisePiece, UpdatePerson
//
// The plan is workflow's; here nothing is decided but how it is shown.
package plan

import (
	"embed"
	"net/http"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css *.js
var files embed.FS

// Page is the plan's pages.
func Page() web.Page {
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /plan":                    forLeads(show),
		"GET /plan/part/floor":         forLeads(showFloor),
		"GET /plan/stage/{piece}/{id}": forLeads(showStage),
		"POST /plan/pin":               forLeads(pin),
		"POST /plan/unpin":             forLeads(unpin),
		"GET /plan/what-if":            forLeads(showWhatIf),
		"POST /plan/promise":           forLeads(applyPromise),
		"POST /plan/absence":           forLeads(applyAbsence),
		"GET /plan/calendar":           forLeads(showCalendar),
		"POST /plan/calendar":          forLeads(subscribe),
	}}
}

var errForLeads = fault.New(fault.Denied, "PAGE_FOR_LEADS", "This page is for the lead and the owner of the shop. Your own work is under My bench.")

func forLeads(h web.Handler) web.Handler {
	return func(w http.ResponseWriter, a *web.Asked) error {
		if !a.User.Leads() {
			return errForLeads
		}
		return h(w, a)
	}
}

func show(w http.ResponseWriter, a *web.Asked) error {
	it, err := readFloor(a)
	if err != nil {
		return err
	}
	return a.Show(w, "plan", a.Voice.T("plan.title"), it)
}

func showFloor(w http.ResponseWriter, a *web.Asked) error {
	it, err := readFloor(a)
	if err != nil {
		return err
	}
	return a.ShowPart(w, "plan", "floor", it)
}

func readFloor(a *web.Asked) (*floor, error) {
	r, err := a.Kit.Suite.Planning.GetFloorPlan(a.Context(), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		return nil, err
	}
	return floorOf(r.GetPlan(), choiceOf(a.URL.Query(), a.Voice.Zone), a.Voice, a.Now()), nil
}
