package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// GetProspect implements ProspectService.
func (s *Server) GetProspect(ctx context.Context, r *intakev1.GetProspectRequest) (*intakev1.GetProspectResponse, error) {
	prospect, err := id.One("name", r.Name, "prospects")
	if err != nil {
		return nil, err
	}
	var pr intake.Prospect
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		pr, err = store.New(q).GetProspect(ctx, prospect)
		return err
	})
	if err != nil {
		return nil, at(err, "PROSPECT_NOT_FOUND", "name")
	}
	return &intakev1.GetProspectResponse{Prospect: s.encodeProspect(pr)}, nil
}

// ListProspects implements ProspectService.
func (s *Server) ListProspects(ctx context.Context, r *intakev1.ListProspectsRequest) (*intakev1.ListProspectsResponse, error) {
	want := store.ProspectsOf{State: prospectStates[r.State], Limit: page.Size(r.PageSize)}
	if err := page.Read(r.PageToken, &want.Before); err != nil {
		return nil, err
	}
	var prospects []intake.Prospect
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		prospects, err = store.New(q).ListProspects(ctx, want)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &intakev1.ListProspectsResponse{NextPageToken: page.Next(prospects, want.Limit, func(pr intake.Prospect) any { return pr.Number })}
	for _, pr := range prospects {
		out.Prospects = append(out.Prospects, s.encodeProspect(pr))
	}
	return out, nil
}

var prospectStates = map[intakev1.Prospect_State]intake.ProspectState{
	intakev1.Prospect_STATE_OPEN: intake.ProspectOpen, intakev1.Prospect_STATE_BOUGHT: intake.ProspectBought, intakev1.Prospect_STATE_DECLINED: intake.ProspectDeclined,
}

func (s *Server) encodeProspect(pr intake.Prospect) *intakev1.Prospect {
	out := &intakev1.Prospect{
		Name: id.Name("prospects", pr.ID), Number: pr.Number, Sighting: s.encodeSighting(pr), Advice: s.encodeAdvice(pr.Advice), State: named(prospectStates, pr.State),
		SeenTime: wire.ToInstant(pr.SeenAt), DeclineReason: pr.Reason, Etag: wire.Etag(pr.Version),
	}
	if pr.State == intake.ProspectBought {
		out.Piece, out.PieceTag, out.Paid = id.Name("pieces", pr.Piece), pr.PieceTag, s.Shop.ToMoney(pr.Paid)
	}
	return out
}
