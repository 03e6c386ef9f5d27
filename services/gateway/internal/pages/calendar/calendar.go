// Package calendar gives each helper's plan to programs that keep calendars, as iCalendar (RFC 5545).
//
//	GET /calendar/{person}/{secret}.ics ─▶ access of a program by its secret ─▶ workflow.GetFloorPlan of that
//	person ─▶ events in UTC ─▶ text/calendar
//
// The secret is that of a program which may read the plan and nothing else; a calendar can send no cookie
// and no header. It is part of the address, so nothing here writes the address down.
package calendar

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// Page is the feed.
func Page() web.Page {
	return web.Page{Open: map[string]web.Handler{"GET /calendar/{person}/{file}": feed}}
}

// programs have secrets that begin so; a browser's session is no calendar's.
const programs = "tackfree_"

var errGone = fault.New(fault.NotFound, "CALENDAR_NOT_LET_IN", "This calendar is not let in, or not any more. Ask the owner of the shop for a new address.")

// refresh is how often a calendar is to ask again, in seconds and in the calendar's own words.
const (
	refresh     = "900"
	refreshText = "PT15M"
)

func feed(w http.ResponseWriter, a *web.Asked) error {
	secret, is := strings.CutSuffix(a.PathValue("file"), ".ics")
	if !is || !strings.HasPrefix(secret, programs) {
		return errGone
	}
	access, plan, err := read(a.Context(), a, secret)
	switch {
	case errors.Is(err, fault.Unauthenticated), errors.Is(err, fault.Denied), errors.Is(err, fault.NotFound), errors.Is(err, fault.Invalid):
		return errGone
	case err != nil:
		w.Header().Set("Retry-After", refresh)
		http.Error(w, "The shop cannot be reached at the moment; ask again later.", http.StatusServiceUnavailable)
		return nil
	}
	h := w.Header()
	h.Set("Content-Type", "text/calendar; charset=utf-8")
	h.Set("Content-Disposition", `inline; filename="plan.ics"`)
	_, err = w.Write([]byte(write(plan, nameOf(plan, "people/"+a.PathValue("person"), access.User.Name, a.Voice), a.Voice)))
	return err
}

// read reads somebody's plan by the right of a program that may change nothing.
func read(ctx context.Context, a *web.Asked, secret string) (web.Access, *workflowv1.FloorPlan, error) {
	access, err := a.Kit.Keeper.Of(ctx, secret)
	if err != nil {
		return access, nil, err
	}
	if !access.User.ReadOnly {
		return access, nil, errGone
	}
	ctx = caller.With(ctx, caller.Caller{Token: access.Token, Actor: access.User.Name})
	r, err := a.Kit.Suite.Planning.GetFloorPlan(ctx, &workflowv1.GetFloorPlanRequest{Person: "people/" + a.PathValue("person")})
	return access, r.GetPlan(), err
}
