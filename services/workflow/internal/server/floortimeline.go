package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/timeline"
)

// ListPieceTimeline implements FloorService.
func (s *Server) ListPieceTimeline(ctx context.Context, r *workflowv1.ListPieceTimelineRequest) (*workflowv1.ListPieceTimelineResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	var after int64 // the version of the last event of the page before
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	out := &workflowv1.ListPieceTimelineResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		events, more, err := s.Log.Of(ctx, q, piece, after, int(page.Size(r.PageSize)))
		if err != nil || len(events) == 0 {
			return err
		}
		teller, err := s.teller(ctx, store.New(q), piece)
		for _, e := range events {
			out.Happenings = append(out.Happenings, happening(teller, piece, e))
		}
		if more {
			out.NextPageToken = page.Token(events[len(events)-1].Version)
		}
		return err
	})
	if err != nil || after > 0 || len(out.Happenings) > 0 {
		return out, err
	}
	// Nothing happened to it here: it may be new, or there may be none.
	_, err = s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: r.Piece})
	return out, atPiece(err)
}

// teller reads what the stages and parts of a piece are called.
func (s *Server) teller(ctx context.Context, st store.Store, piece id.ID) (timeline.Teller, error) {
	t := timeline.Teller{Zone: s.Shop.Zone, Currency: s.Shop.Currency, Stages: map[string]string{}, Parts: map[string]string{}}
	stages, err := st.StageTitles(ctx, piece)
	if err != nil {
		return t, err
	}
	for stage, title := range stages {
		t.Stages[stage.String()] = title
	}
	parts, err := st.Parts(ctx, piece)
	for _, p := range parts {
		t.Parts[p.ID.String()] = p.Label
	}
	return t, err
}

func happening(t timeline.Teller, piece id.ID, e *eventsv1.Envelope) *workflowv1.ListPieceTimelineResponse_Happening {
	told := t.Tell(e)
	out := &workflowv1.ListPieceTimelineResponse_Happening{Time: e.OccurredAt, RecordTime: e.RecordedAt, Actor: e.Actor, Kind: told.Kind, Text: told.Text}
	if told.Stage != "" {
		out.Stage = "pieces/" + piece.String() + "/stages/" + told.Stage
	}
	return out
}
