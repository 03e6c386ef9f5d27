package server

import (
	"context"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// ReopenMonth implements MonthService.
func (s *Server) ReopenMonth(ctx context.Context, r *costingv1.ReopenMonthRequest) (*costingv1.ReopenMonthResponse, error) {
	now := s.now()
	month, err := s.decodeMonth("month", r.Month)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.ReopenMonthResponse, error) {
		s.Keeper.Freeze(ctx, tx)
		st := store.New(tx)
		if err := s.upToDate(ctx, st); err != nil {
			return nil, err
		}
		months, err := s.months(ctx, st, now)
		if err != nil {
			return nil, err
		}
		c, err := months.Reopen(month, costing.Reopening{Reason: r.Reason, Actor: caller.Of(ctx).Actor, At: now})
		if err != nil {
			return nil, err
		}
		if err := s.takeBackClose(ctx, tx, c); err != nil {
			return nil, err
		}
		if months, err = s.months(ctx, st, now); err != nil {
			return nil, err
		}
		return &costingv1.ReopenMonthResponse{Month: s.encodeMonth(months, month)}, nil
	})
}

// takeBackClose writes that a close was taken back, and books it.
func (s *Server) takeBackClose(ctx context.Context, tx *pg.Tx, c costing.Close) error {
	if err := store.New(tx).InsertReopening(ctx, c); err != nil {
		return err
	}
	b := costing.NewBook(s.Keeper.Rules)
	b.ReopenMonth(c)
	return s.keep(ctx, tx, b, c.Reopened.At)
}

// upToDate refuses while the books are those of other rules and are made anew, in a transaction
// that has frozen them. Fault: BOOKS_OUTDATED.
func (s *Server) upToDate(ctx context.Context, st store.Store) error {
	outdated, err := s.Keeper.OutdatedIn(ctx, st)
	if err == nil && outdated {
		return fault.New(fault.Precondition, "BOOKS_OUTDATED", "The books were made by other rules and are being made anew; try again in a moment.")
	}
	return err
}
