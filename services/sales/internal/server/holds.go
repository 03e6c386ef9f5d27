package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/lapse"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// asKept is now, as instants are kept.
func asKept(now time.Time) time.Time { return now.UTC().Truncate(time.Millisecond) }

// ahead reads until when something is to hold, which may lie in the future; absent is zero. Fault: TIME_MALFORMED.
func ahead(ts *timestamppb.Timestamp) (time.Time, error) {
	if ts == nil {
		return time.Time{}, nil
	}
	if err := ts.CheckValid(); err != nil {
		return time.Time{}, fault.New(fault.Invalid, "TIME_MALFORMED", "%s is not an instant.", fault.The("until_time")).At("until_time").Because(err)
	}
	return asKept(ts.AsTime()), nil
}

// over ends the hold of a locked listing if its time is over, so that no command waits for that.
func (s *Server) over(ctx context.Context, tx *pg.Tx, l *sales.Listing, now time.Time) error {
	return lapse.Over(ctx, tx, s.Log, s.Shop, l, now)
}

// HoldPiece implements HoldService.
func (s *Server) HoldPiece(ctx context.Context, r *salesv1.HoldPieceRequest) (*salesv1.HoldPieceResponse, error) {
	now := s.Shop.Now()
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	hold := sales.Hold{ID: id.New(), Buyer: wire.Name(r.Buyer), HeldAt: asKept(now), Rule: rules[r.LapseRule]}
	if hold.Until, err = ahead(r.UntilTime); err != nil {
		return nil, err
	}
	if hold.Price, err = s.Shop.Money("price", r.Price); err != nil {
		return nil, err
	}
	given, err := s.decodeGiven(r.Deposit, hold.Buyer, hold.HeldAt)
	if err != nil {
		return nil, err
	}
	piece, pieceErr := s.piece(ctx, pieceID)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.HoldPieceResponse, error) {
		if pieceErr != nil {
			return nil, pieceErr
		}
		st := store.New(tx)
		l, err := st.LockOrMake(ctx, piece)
		if err != nil {
			return nil, err
		}
		if err := s.over(ctx, tx, &l, now); err != nil {
			return nil, err
		}
		if err := l.Keep(piece, hold); err != nil {
			return nil, err
		}
		deposits, err := s.keep(ctx, tx, &l, piece, given, &eventsv1.PieceHeld{}, now)
		if err != nil {
			return nil, err
		}
		if err := s.passOver(ctx, tx, &l, now); err != nil {
			return nil, err
		}
		return &salesv1.HoldPieceResponse{Hold: s.encodeHold(l.Hold, deposits), Listing: s.encode(l)}, st.Update(ctx, l)
	})
}

// keep writes a hold that has begun, with the deposit that came with it, if any, and their events.
func (s *Server) keep(ctx context.Context, tx *pg.Tx, l *sales.Listing, piece sales.Piece, given *sales.Deposit, e *eventsv1.PieceHeld, now time.Time) ([]sales.Deposit, error) {
	st := store.New(tx)
	e.HoldId, e.Buyer, e.UntilTime, e.Price = l.Hold.ID.String(), l.Hold.Buyer, wire.ToInstant(l.Hold.Until), s.orNone(l.Hold.Price)
	if err := s.append(ctx, tx, *l, l.Hold.HeldAt, now, e); err != nil {
		return nil, err
	}
	if given == nil {
		return nil, st.InsertHold(ctx, l.Hold)
	}
	deposit, err := l.Give(piece, *given, l.Hold.Rule, nil)
	if err != nil {
		return nil, err
	}
	if err := st.InsertHold(ctx, l.Hold); err != nil {
		return nil, err
	}
	return []sales.Deposit{deposit}, s.take(ctx, tx, *l, deposit, now)
}

// ExtendHold implements HoldService.
func (s *Server) ExtendHold(ctx context.Context, r *salesv1.ExtendHoldRequest) (*salesv1.ExtendHoldResponse, error) {
	now := s.Shop.Now()
	until, err := ahead(r.UntilTime)
	if err != nil {
		return nil, err
	}
	return withHold(ctx, s, r, r.Hold, now, func(ctx context.Context, tx *pg.Tx, l *sales.Listing, h sales.Hold, deposits []sales.Deposit) (*salesv1.ExtendHoldResponse, error) {
		before, err := l.ExtendHold(&h, until, asKept(now))
		if err != nil {
			return nil, err
		}
		if err := store.New(tx).UpdateHold(ctx, h); err != nil {
			return nil, err
		}
		e := &eventsv1.PieceHeld{HoldId: h.ID.String(), Buyer: h.Buyer, UntilTime: wire.ToInstant(h.Until), Price: s.orNone(h.Price), BeforeTime: wire.ToInstant(before)}
		return &salesv1.ExtendHoldResponse{Hold: s.encodeHold(h, deposits), Listing: s.encode(*l)}, s.append(ctx, tx, *l, asKept(now), now, e)
	})
}

// ReleaseHold implements HoldService.
func (s *Server) ReleaseHold(ctx context.Context, r *salesv1.ReleaseHoldRequest) (*salesv1.ReleaseHoldResponse, error) {
	now := s.Shop.Now()
	return withHold(ctx, s, r, r.Hold, now, func(ctx context.Context, tx *pg.Tx, l *sales.Listing, h sales.Hold, deposits []sales.Deposit) (*salesv1.ReleaseHoldResponse, error) {
		if err := l.EndHold(&h, sales.HoldReleased, r.Reason, asKept(now)); err != nil {
			return nil, err
		}
		rule := h.Rule
		if r.Deposit != salesv1.LapseRule_LAPSE_RULE_UNSPECIFIED {
			rule = rules[r.Deposit]
		}
		st := store.New(tx)
		if err := st.UpdateHold(ctx, h); err != nil {
			return nil, err
		}
		if err := lapse.End(ctx, tx, s.Log, s.Shop, l, h, l.EndDeposits(deposits, rule, true), now); err != nil {
			return nil, err
		}
		after, err := st.DepositsOf(ctx, h.ID)
		return &salesv1.ReleaseHoldResponse{Hold: s.encodeHold(h, after), Listing: s.encode(*l)}, err
	})
}

// withHold gives a command the hold that it names with its deposits, and writes the listing after it.
func withHold[R proto.Message](ctx context.Context, s *Server, r once.Command, name string, now time.Time,
	do func(context.Context, *pg.Tx, *sales.Listing, sales.Hold, []sales.Deposit) (R, error)) (none R, err error) {
	hold, err := id.One("hold", name, "holds")
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (none R, err error) {
		st := store.New(tx)
		l, err := st.LockOfHold(ctx, hold)
		if err != nil {
			return none, err
		}
		if err := s.over(ctx, tx, &l, now); err != nil {
			return none, err
		}
		h, err := st.Hold(ctx, hold) // which may be over by now
		if err != nil {
			return none, err
		}
		deposits, err := st.DepositsOf(ctx, hold)
		if err != nil {
			return none, err
		}
		out, err := do(ctx, tx, &l, h, deposits)
		if err != nil {
			return none, err
		}
		return out, st.Update(ctx, l)
	})
}
