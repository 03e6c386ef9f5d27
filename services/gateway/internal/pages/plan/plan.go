// Package plan is the floor's plan: who does what, where and when, what dries between, and whether what was
// promised is likely to be kept.
//
//	workflow.GetFloorPlan ─▶ lanes of people, stations or pieces ─▶ chart (nights folded) ┐
//	                         rows by lane and day: the same in words ─────────────────────┼─▶ templates
//	                         outlooks ─▶ chances ─────────────────────────────────────────┘
//	drag, arrow keys, a small form ─▶ PinStage, UnpinStage
//	a better plan ─▶ ProposePlan: how far it is, line by line ─▶ before and after of each piece, and of each stage that
//	                 people know elsewhere ─▶ PublishPlan
//	what if ─▶ CheckWhatIf: before and after of each piece ─▶ what of it can be done: PromisePiece, UpdatePerson
//
// The plan is workflow's; here nothing is decided but how it is shown.
package plan

import (
	"cmp"
	"embed"
	"errors"
	"net/http"
	"slices"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css *.js
var files embed.FS

// plan has the pages, and what it remembers of pieces: what they are called, which the floor does not know.
type plan struct{ book titles.Book }

// Page is the plan's pages.
func Page() web.Page {
	p := &plan{}
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /plan":                    web.ForLeads(p.show),
		"GET /plan/part/floor":         web.ForLeads(p.showFloor),
		"GET /plan/stage/{piece}/{id}": web.ForLeads(p.showStage),
		"POST /plan/pin":               web.ForLeads(p.pin),
		"POST /plan/unpin":             web.ForLeads(p.unpin),
		"GET /plan/what-if":            web.ForLeads(p.showWhatIf),
		"GET /plan/better":             web.ForLeads(p.showSearch),
		"POST /plan/better":            web.ForLeads(p.search),
		"POST /plan/publish":           web.ForLeads(p.publish),
		"POST /plan/promise":           web.ForLeads(p.applyPromise),
		"POST /plan/absence":           web.ForLeads(p.applyAbsence),
		"GET /plan/calendar":           web.ForLeads(showCalendar),
		"POST /plan/calendar":          web.ForLeads(subscribe),
	}}
}

// shown is what the page shows: the plan, or what would be.
type shown struct {
	Floor  *floor
	WhatIf *whatIf
	Better *better
}

func (p *plan) show(w http.ResponseWriter, a *web.Asked) error {
	it, err := p.readFloor(a)
	if err != nil {
		return err
	}
	return a.Show(w, "plan", a.Voice.T("plan.title"), shown{Floor: it})
}

func (p *plan) showFloor(w http.ResponseWriter, a *web.Asked) error {
	it, err := p.readFloor(a)
	if err != nil {
		return err
	}
	return a.ShowPart(w, "plan", "floor", it)
}

func (p *plan) readFloor(a *web.Asked) (*floor, error) {
	it, err := p.read(a)
	if err != nil {
		return nil, err
	}
	return floorOf(it, choiceOf(a.URL.Query(), a.Voice.Zone), a.Voice, a.Now()), nil
}

// read reads the plan as it is.
func (p *plan) read(a *web.Asked) (*workflowv1.FloorPlan, error) {
	r, err := a.Kit.Suite.Planning.GetFloorPlan(a.Context(), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		return nil, err
	}
	return r.Plan, p.call(a, r.Plan)
}

// call writes into a plan what its pieces are called. While nobody can say, their tags must do.
func (p *plan) call(a *web.Asked, it *workflowv1.FloorPlan) error {
	var names []string
	for _, o := range it.Pieces {
		names = append(names, o.Piece)
	}
	for _, s := range it.Stages {
		names = append(names, s.Piece)
	}
	slices.Sort(names)
	names = slices.DeleteFunc(slices.Compact(names), func(name string) bool { return name == "" })
	called, err := p.book.Of(a.Context(), a.Kit.Suite.Intake, names)
	if errors.Is(err, fault.Unavailable) {
		return nil
	}
	for _, o := range it.Pieces {
		o.PieceTitle = cmp.Or(called[o.Piece].Title, o.PieceTitle)
	}
	for _, s := range it.Stages {
		s.PieceTitle = cmp.Or(called[s.Piece].Title, s.PieceTitle)
	}
	return err
}
