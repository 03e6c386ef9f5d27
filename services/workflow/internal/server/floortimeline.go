package server

import (
	"context"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
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
		t := s.teller(ctx)
		pieces, batches := asked(events)
		t.Names, err = store.New(q).Called(ctx, pieces, batches)
		for _, e := range events {
			out.Happenings = append(out.Happenings, happening(t, piece, e))
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

// Say implements feed.Say. Where no sentence looks anything up, as with most that clocks tell, the
// database is not asked.
func (s *Server) Say(ctx context.Context, events []*eventsv1.Envelope) ([]string, error) {
	t := timeline.Teller{Zone: s.Shop.Zone, Currency: s.Shop.Currency}
	if pieces, batches := asked(events); len(pieces)+len(batches) > 0 {
		err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
			t.Names, err = store.New(q).Called(ctx, pieces, batches)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	texts := make([]string, len(events))
	for i, e := range events {
		texts[i] = t.Tell(e).Text
	}
	return texts, nil
}

// teller tells who asks what happened: helpers are told no money, as the fields of the events are kept from them.
func (s *Server) teller(ctx context.Context) timeline.Teller {
	return timeline.Teller{Zone: s.Shop.Zone, Currency: s.Shop.Currency, Moneyless: !caller.Of(ctx).IsTold(typev1.Role_ROLE_LEAD)}
}

// asked are the pieces of which events name stages or parts, and the batches that they name.
func asked(events []*eventsv1.Envelope) (pieces, batches []id.ID) {
	for _, e := range events {
		a := timeline.Asks(e)
		if p, err := id.Parse(timeline.PieceOf(e)); a.Names && err == nil {
			pieces = append(pieces, p)
		}
		for _, name := range a.Batches {
			if b, err := id.Parse(name); err == nil {
				batches = append(batches, b)
			}
		}
	}
	return pieces, batches
}

func happening(t timeline.Teller, piece id.ID, e *eventsv1.Envelope) *workflowv1.ListPieceTimelineResponse_Happening {
	told := t.Tell(e)
	out := &workflowv1.ListPieceTimelineResponse_Happening{Time: e.OccurredAt, RecordTime: e.RecordedAt, Actor: e.Actor, Kind: told.Kind, Text: told.Text}
	if told.Stage != "" {
		out.Stage = "pieces/" + piece.String() + "/stages/" + told.Stage
	}
	return out
}
