package server

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/store"
)

// WatchPieceCost implements CostingService. A piece that the books do not know yet is
// waited for only as long as it takes to be told so.
func (s *Server) WatchPieceCost(r *costingv1.WatchPieceCostRequest, stream grpc.ServerStreamingServer[costingv1.WatchPieceCostResponse]) error {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return err
	}
	v := &viewer{Server: s, piece: piece}
	err = s.Hub.Watch(stream.Context(), s.Stop, piece, func(ctx context.Context) error {
		news, err := v.news(ctx)
		if err != nil || news == nil {
			return err
		}
		return stream.Send(&costingv1.WatchPieceCostResponse{PieceCost: news})
	})
	if err != nil {
		return err
	}
	return fault.New(fault.Unavailable, "SERVICE_STOPPING", "The service is stopping; watch again in a moment.")
}

// viewer is one who watches a piece, and what they have seen of it.
type viewer struct {
	*Server
	piece   id.ID
	makings store.Makings
	seen    *costingv1.PieceCost // nil at first
}

// news reads the sheet if it may be another than the one seen, and gives it if it is; nil
// if it is not. Most looks find nothing, so they ask in small first.
func (v *viewer) news(ctx context.Context) (*costingv1.PieceCost, error) {
	makings, err := v.makingsNow(ctx)
	if err != nil || (v.seen != nil && makings == v.makings) {
		return nil, err
	}
	sheet, err := v.sheet(ctx, v.piece)
	if err != nil {
		return nil, err
	}
	// The sheet may be newer than its makings, never older: then the next look reads it again.
	now := v.encode(sheet)
	v.makings = makings
	if proto.Equal(now, v.seen) {
		return nil, nil
	}
	v.seen = now
	return now, nil
}

func (v *viewer) makingsNow(ctx context.Context) (m store.Makings, err error) {
	err = v.DB.View(ctx, func(q pg.Querier) (err error) {
		m, err = v.sheets(q).Makings(ctx, v.piece)
		return err
	})
	return m, err
}
