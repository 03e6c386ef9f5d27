package plan

import (
	"cmp"
	"context"
	"net/http"
	"net/url"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// whatIf is the page of what would be: what can be supposed, what is, and what follows.
type whatIf struct {
	People   []*workflowv1.Presence
	Pieces   []*workflowv1.PieceOutlook
	Routes   []string
	Typed    url.Values
	Asked    bool
	Changes  []change
	Floor    *floor
	Etag     string // of who would be away, as they are now
	Absence  bool   // can be entered
	Promised bool   // can be promised
}

// change is a piece that ends at another time, or has another chance.
type change struct {
	Tag           int32
	Title         string
	Before, After *chance // nil: it has no place, or is not there
	Word          string  // later, sooner, newcomer, placed, unplaced, or chance: only that changes
	By            time.Duration
}

// wishes are the fields of the form.
var wishes = []string{"person", "first", "last", "piece", "by", "route", "promise"}

func (p *plan) showWhatIf(w http.ResponseWriter, a *web.Asked) error {
	return p.showWhatIfWith(w, a, a.URL.Query(), nil)
}

// showWhatIfWith shows the form as it was filled in, with what follows of it.
func (p *plan) showWhatIfWith(w http.ResponseWriter, a *web.Asked, filled url.Values, refused error) error {
	it := &whatIf{Typed: filled}
	var reading errgroup.Group
	reading.Go(func() error {
		now, err := p.read(a)
		it.People, it.Pieces = now.GetPresence(), now.GetPieces()
		return err
	})
	reading.Go(func() (err error) {
		it.Routes, err = routes(a.Context(), a.Kit.Suite)
		return err
	})
	if err := reading.Wait(); err != nil {
		return err
	}
	for _, field := range wishes {
		it.Asked = it.Asked || filled.Get(field) != ""
	}
	if it.Asked {
		if err := p.suppose(a, it); fault.Of(err) == nil && err != nil {
			return err
		} else if refused == nil {
			refused = err
		}
	}
	return a.ShowRefused(w, "plan", a.Voice.T("plan.whatif"), shown{WhatIf: it}, refused)
}

func routes(ctx context.Context, s *clients.Suite) ([]string, error) {
	all, err := clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Route, string, error) {
		r, err := s.Routes.ListRoutes(ctx, &workflowv1.ListRoutesRequest{PageToken: token})
		return r.GetRoutes(), r.GetNextPageToken(), err
	})
	var names []string
	for _, r := range all {
		names = append(names, r.Name)
	}
	return names, err
}

// suppose asks what would be.
func (p *plan) suppose(a *web.Asked, w *whatIf) error {
	r, err := supposed(&typed.Form{Values: w.Typed, Voice: a.Voice})
	if err != nil {
		return err
	}
	out, err := a.Kit.Suite.Planning.CheckWhatIf(a.Context(), r)
	if err != nil {
		return err
	}
	if err := p.call(a, out.Plan); err != nil {
		return err
	}
	now := a.Now()
	w.Changes = changesOf(out.Changes, titlesIn(out.Plan), now)
	w.Floor = floorOf(out.Plan, choice{By: lanesBy[0], Over: "week"}, a.Voice, now)
	w.Floor.Still = true
	w.Promised = len(r.Promises) > 0
	if len(r.Absences) == 0 || !a.User.Owns() {
		return nil
	}
	who, err := a.Kit.Suite.People.GetPerson(a.Context(), &workflowv1.GetPersonRequest{Name: r.Absences[0].Person})
	w.Absence, w.Etag = err == nil, who.GetPerson().GetEtag()
	return err
}

// supposed reads the form. What is filled in by half supposes nothing.
func supposed(f *typed.Form) (*workflowv1.CheckWhatIfRequest, error) {
	r := &workflowv1.CheckWhatIfRequest{}
	first, last := f.Day("first"), f.Day("last")
	if person := f.Text("person"); person != "" && first != nil {
		r.Absences = append(r.Absences, &workflowv1.CheckWhatIfRequest_Absence{Person: person, FirstDate: first, LastDate: last})
	}
	by, promise := f.Instant("by"), f.Instant("promise")
	if piece := f.Text("piece"); piece != "" && by != nil {
		r.Promises = append(r.Promises, &workflowv1.CheckWhatIfRequest_Promise{Piece: piece, PromiseTime: by})
	}
	if route := f.Text("route"); route != "" {
		r.Newcomers = append(r.Newcomers, &workflowv1.CheckWhatIfRequest_Newcomer{Route: route, PromiseTime: promise})
	}
	return r, f.Err()
}

// changesOf are the changes in words: how much later or sooner each ends.
func changesOf(all []*workflowv1.CheckWhatIfResponse_Change, called map[string]string, now time.Time) (out []change) {
	for _, c := range all {
		it := change{Before: outlook(c.Before, now), After: outlook(c.After, now), Word: "chance"}
		for _, o := range []*workflowv1.PieceOutlook{c.After, c.Before} {
			if o != nil {
				it.Tag, it.Title = o.PieceTag, cmp.Or(called[o.Piece], o.PieceTitle)
			}
		}
		was, will := c.GetBefore().GetEndTime(), c.GetAfter().GetEndTime()
		if was != nil && will != nil {
			it.By = will.AsTime().Sub(was.AsTime())
		}
		switch {
		case c.Before == nil:
			it.Word = "newcomer"
		case was != nil && will == nil:
			it.Word = "unplaced"
		case was == nil && will != nil:
			it.Word = "placed"
		case it.By >= time.Minute:
			it.Word = "later"
		case it.By <= -time.Minute:
			it.Word, it.By = "sooner", -it.By
		}
		out = append(out, it)
	}
	return out
}

// titlesIn is what a plan calls its pieces.
func titlesIn(p *workflowv1.FloorPlan) map[string]string {
	called := map[string]string{}
	for _, o := range p.Pieces {
		called[o.Piece] = o.PieceTitle
	}
	return called
}

func outlook(o *workflowv1.PieceOutlook, now time.Time) *chance {
	if o == nil {
		return nil
	}
	c := chanceOf(o, now)
	return &c
}

// Value is what was typed into a field.
func (w *whatIf) Value(field string) string { return w.Typed.Get(field) }
