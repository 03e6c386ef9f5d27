package server

import (
	"context"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// SaveRoute implements RouteService.
func (s *Server) SaveRoute(ctx context.Context, r *workflowv1.SaveRouteRequest) (*workflowv1.SaveRouteResponse, error) {
	now := s.Shop.Now()
	route, err := decodeRoute(r.Route)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.SaveRouteResponse, error) {
		st, saved := store.New(tx), route
		routeID, version, err := st.LockRoute(ctx, route.Word, route.ID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Route.Etag, version); err != nil {
			return nil, err
		}
		saved.ID, saved.Version = routeID, version+1
		if err := st.SaveRoute(ctx, saved); err != nil {
			return nil, err
		}
		e := outbox.Event{Kind: "route", Aggregate: saved.ID, Version: saved.Version, OccurredAt: now, Payload: routeSaved(saved)}
		return &workflowv1.SaveRouteResponse{Route: encodeRoute(saved)}, s.Log.Append(ctx, tx, e, now)
	})
}

// GetRoute implements RouteService.
func (s *Server) GetRoute(ctx context.Context, r *workflowv1.GetRouteRequest) (*workflowv1.GetRouteResponse, error) {
	word, err := routeWord("name", r.Name)
	if err != nil {
		return nil, err
	}
	var route workflow.Route
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		routes, err := store.New(q).Routes(ctx, []string{word})
		route = routes[word]
		return err
	})
	if err != nil {
		return nil, atName(err)
	}
	return &workflowv1.GetRouteResponse{Route: encodeRoute(route)}, nil
}

// ListRoutes implements RouteService.
func (s *Server) ListRoutes(ctx context.Context, r *workflowv1.ListRoutesRequest) (*workflowv1.ListRoutesResponse, error) {
	var after string
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var routes []workflow.Route
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		routes, err = store.New(q).ListRoutes(ctx, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListRoutesResponse{NextPageToken: page.Next(routes, size, func(r workflow.Route) any { return r.Word })}
	for _, route := range routes {
		out.Routes = append(out.Routes, encodeRoute(route))
	}
	return out, nil
}

// routeWord reads routes/{word}.
func routeWord(field, name string) (string, error) {
	word, ok := strings.CutPrefix(name, "routes/")
	if !ok || word == "" || len(word) > 60 {
		return "", fault.New(fault.Invalid, "INVALID_NAME", "%s is not a route's name, such as routes/painted.", fault.The(field)).At(field)
	}
	return word, nil
}

func decodeRoute(m *workflowv1.Route) (workflow.Route, error) {
	word, err := routeWord("route.name", m.Name)
	if err != nil {
		return workflow.Route{}, err
	}
	r := workflow.Route{ID: id.New(), Word: word}
	for _, step := range m.Steps {
		r.Steps = append(r.Steps, workflow.Step{
			Key: step.Key, Kind: step.Kind, Scope: scopes[step.Scope], After: step.After, Skill: step.Skill, SkillLevel: step.SkillLevel, Station: step.Station,
			Attended: minutes(step.AttendedMinutes), Unattended: minutes(step.UnattendedMinutes)})
	}
	return r, r.Check()
}

func encodeRoute(r workflow.Route) *workflowv1.Route {
	out := &workflowv1.Route{Name: "routes/" + r.Word, Etag: wire.Etag(r.Version)}
	for _, s := range r.Steps {
		out.Steps = append(out.Steps, &workflowv1.Step{
			Key: s.Key, Kind: s.Kind, Scope: scopeOf[s.Scope], After: s.After, Skill: s.Skill, SkillLevel: s.SkillLevel, Station: s.Station,
			AttendedMinutes: toMinutes(s.Attended), UnattendedMinutes: toMinutes(s.Unattended)})
	}
	return out
}

func routeSaved(r workflow.Route) *eventsv1.RouteSaved {
	e := &eventsv1.RouteSaved{RouteId: r.ID.String(), Word: r.Word}
	for _, s := range r.Steps {
		e.StepKeys = append(e.StepKeys, s.Key)
	}
	return e
}

var (
	scopes = map[workflowv1.Step_Scope]workflow.Scope{
		workflowv1.Step_SCOPE_PART: workflow.OnPart, workflowv1.Step_SCOPE_PIECE: workflow.OnPiece}
	scopeOf = map[workflow.Scope]workflowv1.Step_Scope{
		workflow.OnPart: workflowv1.Step_SCOPE_PART, workflow.OnPiece: workflowv1.Step_SCOPE_PIECE}
)

func minutes(n int32) time.Duration { return time.Duration(n) * time.Minute }

func toMinutes(d time.Duration) int32 { return int32(d / time.Minute) }
