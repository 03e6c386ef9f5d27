package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// goesIn is what was given on a piece that is about to be sold: on the hold that is named, or on a client's own piece. A hold whose
// time is over ends first. Faults: HOLD_NOT_FOUND, HOLD_NOT_OPEN.
func (s *Server) goesIn(ctx context.Context, tx *pg.Tx, l *sales.Listing, piece sales.Piece, hold id.ID, now time.Time) (held []sales.Deposit, err error) {
	st := store.New(tx)
	if err := s.over(ctx, tx, l, now); err != nil {
		return nil, err
	}
	switch {
	case hold != id.Nil && hold != l.Hold.ID:
		return nil, whyNot(ctx, st, *l, hold)
	case hold != id.Nil:
		return st.DepositsOf(ctx, hold)
	case piece.Commission:
		return st.DepositsHeld(ctx, piece.ID)
	}
	return nil, nil
}

// whyNot says why a piece cannot be sold by a hold that is not its open one. Faults: HOLD_NOT_FOUND, HOLD_NOT_OPEN.
func whyNot(ctx context.Context, st store.Store, l sales.Listing, hold id.ID) error {
	h, err := st.Hold(ctx, hold)
	switch {
	case err != nil:
		return err
	case h.Piece != l.Piece:
		return sales.ErrNoHold
	}
	return h.NotOver()
}

// sold writes what the sale of a piece means to its hold, to the deposits that went into it and to what others offered, after the
// sale's own event; and the listing.
func (s *Server) sold(ctx context.Context, tx *pg.Tx, l *sales.Listing, before sales.Hold, used []sales.Deposit, now time.Time) error {
	st := store.New(tx)
	if before.ID != id.Nil {
		before.State, before.EndedAt = sales.HoldSold, asKept(now)
		if err := st.UpdateHold(ctx, before); err != nil {
			return err
		}
	}
	for _, d := range used {
		if err := st.UpdateDeposit(ctx, d); err != nil {
			return err
		}
	}
	if err := s.passOver(ctx, tx, l, now); err != nil {
		return err
	}
	return st.Update(ctx, *l)
}
