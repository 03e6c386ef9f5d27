package server

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store"
)

// usualChance is how sure a promise is where nobody says otherwise. Common practice.
const usualChance = 0.8

// SuggestPromiseDate implements PlanningService.
func (s *Server) SuggestPromiseDate(ctx context.Context, r *workflowv1.SuggestPromiseDateRequest) (*workflowv1.SuggestPromiseDateResponse, error) {
	now, err := s.planned.of(ctx, s)
	if err != nil {
		return nil, err
	}
	wanted, err := s.readWanted(ctx, r, now)
	if err != nil {
		return nil, err
	}
	chance := r.Chance
	if chance == 0 {
		chance = usualChance
	}
	found, err := planning.Suggest(now.facts, now.plan, wanted, chance)
	if err != nil {
		return nil, err
	}
	out := &workflowv1.SuggestPromiseDateResponse{Gentle: encodeOption(found.Gentle), Hurried: encodeOption(found.Hurried)}
	for _, st := range found.Steps {
		out.Steps = append(out.Steps, &workflowv1.SuggestPromiseDateResponse_Step{Chance: st.Chance, PromiseTime: wire.ToInstant(st.Promise)})
	}
	return out, nil
}

// readWanted reads what is to be promised. Faults: NOTHING_TO_PROMISE, ROUTE_NOT_FOUND, PIECE_NOT_FOUND.
func (s *Server) readWanted(ctx context.Context, r *workflowv1.SuggestPromiseDateRequest, of *plannedFloor) (w planning.Wanted, err error) {
	if (r.Route == "") == (r.Piece == "") {
		return w, fault.New(fault.Invalid, "NOTHING_TO_PROMISE", "Say what is to be promised: a route of something that comes in, or a piece that is here.")
	}
	if r.Piece != "" {
		if w.Piece, err = id.One("piece", r.Piece, "pieces"); err == nil && !of.has(w.Piece) {
			err = nothingLeft("piece")
		}
		return w, err
	}
	word, err := routeWord("route", r.Route)
	if err != nil {
		return w, err
	}
	return w, s.DB.View(ctx, func(q pg.Querier) error {
		routes, err := store.New(q).Routes(ctx, []string{word})
		route := routes[word]
		w.Route = &route
		return err
	})
}

func encodeOption(o planning.Option) *workflowv1.SuggestPromiseDateResponse_Option {
	return &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: wire.ToInstant(o.Promise), Chance: o.Chance, EndTime: wire.ToInstant(o.End), Changes: encodeChanges(o.Moves)}
}
