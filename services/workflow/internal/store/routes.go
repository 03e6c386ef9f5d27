package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// LockRoute finds the id and version of the route of that word and locks it; a new one
// gets newID and version 0.
func (s Store) LockRoute(ctx context.Context, word string, newID id.ID) (id.ID, int64, error) {
	row, err := s.q.LockRoute(ctx, word)
	if errors.Is(err, pgx.ErrNoRows) {
		return newID, 0, nil
	}
	return row.ID, row.Version, err
}

// SaveRoute writes a route and its steps in place of the ones before.
func (s Store) SaveRoute(ctx context.Context, r workflow.Route) error {
	if err := s.q.UpsertRoute(ctx, storedb.UpsertRouteParams{ID: r.ID, Word: r.Word, Version: r.Version}); err != nil {
		return err
	}
	if err := s.q.DeleteSteps(ctx, r.ID); err != nil {
		return err
	}
	for i, step := range r.Steps {
		if err := s.q.InsertStep(ctx, toStep(r.ID, i, step)); err != nil {
			return err
		}
	}
	return nil
}

// Routes reads routes by their words. Fault: ROUTE_NOT_FOUND, naming the missing one.
func (s Store) Routes(ctx context.Context, words []string) (map[string]workflow.Route, error) {
	rows, err := s.q.RoutesByWord(ctx, words)
	if err != nil {
		return nil, err
	}
	routes, err := s.withSteps(ctx, rows)
	if err != nil {
		return nil, err
	}
	byWord := make(map[string]workflow.Route, len(routes))
	for _, r := range routes {
		byWord[r.Word] = r
	}
	for _, word := range words {
		if _, found := byWord[word]; !found {
			return nil, fault.New(fault.NotFound, "ROUTE_NOT_FOUND", "There is no route %q; save it first, or look at the list of routes.", word).At("route")
		}
	}
	return byWord, nil
}

// ListRoutes reads up to limit routes whose word comes later, by word.
func (s Store) ListRoutes(ctx context.Context, after string, limit int32) ([]workflow.Route, error) {
	rows, err := s.q.ListRoutes(ctx, storedb.ListRoutesParams{After: after, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	return s.withSteps(ctx, rows)
}

func (s Store) withSteps(ctx context.Context, rows []storedb.Route) ([]workflow.Route, error) {
	routes := make([]workflow.Route, len(rows))
	ids := make([]id.ID, len(rows))
	at := make(map[id.ID]*workflow.Route, len(rows))
	for i, row := range rows {
		routes[i] = workflow.Route{ID: row.ID, Word: row.Word, Version: row.Version}
		ids[i], at[row.ID] = row.ID, &routes[i]
	}
	steps, err := s.q.StepsOf(ctx, ids)
	if err != nil {
		return nil, err
	}
	for _, row := range steps {
		at[row.RouteID].Steps = append(at[row.RouteID].Steps, fromStep(row))
	}
	return routes, nil
}

func toStep(route id.ID, position int, s workflow.Step) storedb.InsertStepParams {
	return storedb.InsertStepParams{
		RouteID: route, Position: int32(position), Key: s.Key, Kind: s.Kind, Scope: string(s.Scope), AfterKeys: notNil(s.After),
		Skill: s.Skill, SkillLevel: s.SkillLevel, Station: s.Station, AttendedMinutes: minutes(s.Attended), UnattendedMinutes: minutes(s.Unattended),
	}
}

func fromStep(row storedb.StepsOfRow) workflow.Step {
	return workflow.Step{
		Key: row.Key, Kind: row.Kind, Scope: workflow.Scope(row.Scope), After: row.AfterKeys, Skill: row.Skill, SkillLevel: row.SkillLevel, Station: row.Station,
		Attended: time.Duration(row.AttendedMinutes) * time.Minute, Unattended: time.Duration(row.UnattendedMinutes) * time.Minute,
	}
}

func minutes(d time.Duration) int32 { return int32(d / time.Minute) }
