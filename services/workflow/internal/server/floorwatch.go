package server

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/feed"
	"tackfree/services/workflow/internal/timeline"
)

// WatchFloor implements FloorService. What is not of the piece that is asked for is passed
// over: the position of what comes next lies behind it.
func (s *Server) WatchFloor(r *workflowv1.WatchFloorRequest, stream grpc.ServerStreamingServer[workflowv1.WatchFloorResponse]) error {
	piece := ""
	if r.Piece != "" {
		only, err := id.One("piece", r.Piece, "pieces")
		if err != nil {
			return err
		}
		piece = only.String()
	}
	from, err := s.watchFrom(stream.Context(), r.Position)
	if err != nil {
		return err
	}
	if err := stream.Send(&workflowv1.WatchFloorResponse{Position: s.Log.Token(from)}); err != nil {
		return err
	}
	err = s.Hub.Watch(stream.Context(), s.Stop, from, func(t feed.Told) error {
		if piece != "" && t.Event.PieceId != piece {
			return nil
		}
		return stream.Send(&workflowv1.WatchFloorResponse{Position: t.Position, Event: t.Event, Text: s.textFor(stream.Context(), t)})
	})
	if err != nil {
		return err
	}
	return fault.New(fault.Unavailable, "SERVICE_STOPPING", "The service is stopping; watch again from the last position in a moment.")
}

// textFor is what an event says to who asks. All are told the same, and so it was put into words once; but
// for what something is worth or was billed, and those sentences look nothing up.
func (s *Server) textFor(ctx context.Context, t feed.Told) string {
	if teller := s.teller(ctx); teller.Moneyless && timeline.HoldsMoney(t.Event) {
		return teller.Tell(t.Event).Text
	}
	return t.Text
}

// watchFrom reads where to begin; empty is now. Fault: POSITION_UNKNOWN.
func (s *Server) watchFrom(ctx context.Context, position string) (outbox.Position, error) {
	if position == "" {
		return s.Log.Present(ctx)
	}
	return s.Log.Resume(ctx, position)
}
