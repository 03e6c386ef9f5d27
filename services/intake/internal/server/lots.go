package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// TakeInLot implements LotService.
func (s *Server) TakeInLot(ctx context.Context, r *intakev1.TakeInLotRequest) (*intakev1.TakeInLotResponse, error) {
	now := s.Shop.Now()
	lot, pieces, err := s.decodeLot(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.TakeInLotResponse, error) {
		tagged := append([]intake.Piece{}, pieces...)
		l, err := keepLot(ctx, store.New(tx), lot, tagged)
		if err != nil {
			return nil, err
		}
		out := &intakev1.TakeInLotResponse{Lot: s.encodeLot(l)}
		for _, p := range tagged {
			out.Pieces = append(out.Pieces, s.encode(p))
			if err := s.tell(ctx, tx, p, p.TakenInAt, now, s.takenIn(p)); err != nil {
				return nil, err
			}
		}
		return out, s.tellLot(ctx, tx, l, l.TakenInAt, now, s.lotBought(l))
	})
}

// keepLot gives the pieces their tags and writes them with their lot.
func keepLot(ctx context.Context, st store.Store, l intake.Lot, pieces []intake.Piece) (intake.Lot, error) {
	if err := st.GiveTags(ctx, pieces); err != nil {
		return l, err
	}
	if err := st.InsertLot(ctx, l); err != nil {
		return l, err
	}
	for _, p := range pieces {
		if err := st.Insert(ctx, p); err != nil {
			return l, err
		}
	}
	return l.Named(pieces), st.AddTerms(ctx, l)
}

// tellLot writes the event that made the lot's present version.
func (s *Server) tellLot(ctx context.Context, tx *pg.Tx, l intake.Lot, at, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "lot", Aggregate: l.ID, Version: l.Version(), OccurredAt: at, Payload: payload}, now)
}

// GetLot implements LotService.
func (s *Server) GetLot(ctx context.Context, r *intakev1.GetLotRequest) (*intakev1.GetLotResponse, error) {
	lot, err := id.One("name", r.Name, "lots")
	if err != nil {
		return nil, err
	}
	var l intake.Lot
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		l, err = store.New(q).GetLot(ctx, lot)
		return err
	})
	if f := fault.Of(err); f != nil && f.Reason == "LOT_NOT_FOUND" {
		return nil, f.At("name")
	}
	if err != nil {
		return nil, err
	}
	return &intakev1.GetLotResponse{Lot: s.encodeLot(l)}, nil
}

// ListLots implements LotService.
func (s *Server) ListLots(ctx context.Context, r *intakev1.ListLotsRequest) (*intakev1.ListLotsResponse, error) {
	var after id.ID
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var lots []intake.Lot
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		lots, err = store.New(q).ListLots(ctx, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &intakev1.ListLotsResponse{NextPageToken: page.Next(lots, size, func(l intake.Lot) any { return l.ID })}
	for _, l := range lots {
		out.Lots = append(out.Lots, s.encodeLot(l))
	}
	return out, nil
}
