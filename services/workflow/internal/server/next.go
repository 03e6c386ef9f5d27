package server

import (
	"context"
	"slices"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// The usual and the largest number of stages in an answer of what is next.
const (
	usualNext = 5
	mostNext  = 50
)

// nextLimit reads how many stages are asked for.
func nextLimit(size int32) int {
	if size == 0 {
		return usualNext
	}
	return int(min(size, mostNext))
}

// ListNextStages implements StageService.
func (s *Server) ListNextStages(ctx context.Context, r *workflowv1.ListNextStagesRequest) (*workflowv1.ListNextStagesResponse, error) {
	personID, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	station, err := optionalStation(r.Station)
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListNextStagesResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		person, err := store.New(q).Person(ctx, personID)
		if err != nil {
			return err
		}
		search, err := s.search(ctx, q, person, station)
		if err != nil {
			return err
		}
		offers, obstacles := search.Next()
		out.NextStages, out.More = s.best(search, offers, nextLimit(r.PageSize))
		for _, o := range obstacles {
			out.Obstacles = append(out.Obstacles, o.Text)
		}
		out.Said = wire.ToSaids(obstacles)
		return nil
	})
	return out, err
}

// best writes the first of some offers, and says how many more there are.
func (s *Server) best(search *workflow.Search, offers []workflow.Offer, limit int) ([]*workflowv1.NextStage, int32) {
	told := min(limit, len(offers))
	return s.encodeOffers(search, offers[:told]), int32(len(offers) - told)
}

// toDo tells the stages that are a person's and not finished, in the order in which they are best
// done; and today the best of the pool, which they could claim now.
func (s *Server) toDo(ctx context.Context, q pg.Querier, person workflow.Person, today bool, out *workflowv1.GetDayResponse) error {
	search, err := s.search(ctx, q, person, "")
	if err != nil {
		return err
	}
	out.Assigned = s.encodeOffers(search, search.Own())
	if !today {
		return nil
	}
	offers, _ := search.Next()
	offers = slices.DeleteFunc(offers, func(o workflow.Offer) bool { return o.Theirs })
	out.NextStages, out.MoreNextStages = s.best(search, offers, usualNext)
	return nil
}

// search reads what a person's next stage is chosen from. station is the word of the one where they
// stand; empty: anywhere. Fault: STATION_NOT_FOUND.
func (s *Server) search(ctx context.Context, q pg.Querier, person workflow.Person, station string) (*workflow.Search, error) {
	st := store.New(q)
	search := &workflow.Search{Person: person, Station: station, Now: s.Shop.Now().In(s.Shop.Zone)}
	var err error
	if search.Places.Stations, err = st.Stations(ctx); err != nil {
		return nil, err
	}
	if station != "" && !slices.ContainsFunc(search.Places.Stations, func(s workflow.Station) bool { return s.Word == station }) {
		return nil, store.NoStation(station)
	}
	if search.Open, err = st.Open(ctx); err != nil {
		return nil, err
	}
	var pieces []id.ID
	for _, p := range search.Open {
		pieces = append(pieces, p.Piece.ID)
	}
	if search.Places.Pieces, err = st.Whereabouts(ctx, pieces); err != nil {
		return nil, err
	}
	if search.Batches, err = st.OpenBatchNames(ctx); err != nil {
		return nil, err
	}
	if search.Used, err = st.LastUses(ctx, search.Now); err != nil {
		return nil, err
	}
	if search.Refused, err = st.RefusedBy(ctx, person.ID); err != nil {
		return nil, err
	}
	if search.Planned, err = st.PlannedFor(ctx, person.ID); err != nil {
		return nil, err
	}
	search.Airs, err = st.LastAirs(ctx, search.Now)
	return search, err
}

func (s *Server) encodeOffers(search *workflow.Search, offers []workflow.Offer) []*workflowv1.NextStage {
	out := make([]*workflowv1.NextStage, len(offers))
	for i, o := range offers {
		out[i] = s.encodeOffer(search, o)
	}
	return out
}

func (s *Server) encodeOffer(search *workflow.Search, o workflow.Offer) *workflowv1.NextStage {
	p := o.Piece.Piece
	return &workflowv1.NextStage{Stage: encodeStage(&o.Piece.Plan, o.Stage, search.Now), Piece: id.Name("pieces", p.ID), PieceTag: p.Tag,
		PromiseTime: wire.ToInstant(p.Promised), Value: s.toValue(p), Urgency: proto.Float64(o.Urgency), Why: o.Why, PlannedTime: wire.ToInstant(o.Planned)}
}
