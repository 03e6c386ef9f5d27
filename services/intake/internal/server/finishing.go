package server

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// FinishCommission implements CommissionService.
func (s *Server) FinishCommission(ctx context.Context, r *intakev1.FinishCommissionRequest) (*intakev1.FinishCommissionResponse, error) {
	now := s.Shop.Now()
	at := now.Truncate(time.Millisecond)
	// Asked before the transaction, judged inside, as of a cancellation.
	invoiced, askErr := s.wasInvoiced(ctx, r.Commission)
	change := func(ctx context.Context, _ store.Store, c *intake.Commission) error {
		if askErr != nil {
			return askErr
		}
		return c.End(invoiced, s.writing(ctx, at, r.Reason))
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.FinishCommissionResponse, error) {
		return &intakev1.FinishCommissionResponse{Commission: s.encodeCommission(c)}, s.tellCommission(ctx, tx, c, at, now, finished(c))
	})
}

func finished(c intake.Commission) *eventsv1.CommissionFinished {
	return &eventsv1.CommissionFinished{Number: c.Number, Invoiced: c.Finish.Invoiced, Reason: c.Finish.Reason}
}

// looking is how often it is asked which commissions were invoiced.
const looking = 5 * time.Minute

// KeepFinished finishes what was invoiced until ctx ends.
func (s *Server) KeepFinished(ctx context.Context, logger *slog.Logger) {
	ctx = caller.With(ctx, caller.Caller{Actor: "commissions"})
	ticker := time.NewTicker(looking)
	defer ticker.Stop()
	for ctx.Err() == nil {
		if err := s.FinishInvoiced(ctx, id.Nil); err != nil && ctx.Err() == nil {
			logger.WarnContext(ctx, "which commissions were invoiced", "error", err)
		}
		select {
		case <-ctx.Done():
		case <-ticker.C:
		}
	}
}

// FinishInvoiced finishes the commissions that were approved and whose pieces were sold since; that of one piece, or with
// id.Nil all. One that cannot be finished leaves the others to be; the error says why of each.
func (s *Server) FinishInvoiced(ctx context.Context, piece id.ID) error {
	var all []store.OnBench
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		all, err = store.New(q).ApprovedPieces(ctx, piece)
		return err
	})
	if err != nil || len(all) == 0 {
		return err
	}
	listed, err := s.listings(ctx, all)
	failed := []error{err}
	for _, b := range all {
		if !stands(listed[id.Name("pieces", b.Piece)], b.BegunAt) {
			continue
		}
		if err := s.finishOne(ctx, b.Commission); err != nil {
			failed = append(failed, fmt.Errorf("commission %s: %w", b.Commission, err))
		}
	}
	return errors.Join(failed...)
}

// finishOne finishes a commission that was invoiced; one that came to its end meanwhile stays as it is.
func (s *Server) finishOne(ctx context.Context, commission id.ID) error {
	now := s.Shop.Now()
	at := now.Truncate(time.Millisecond)
	return s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		c, err := st.LockCommission(ctx, commission)
		if err != nil || c.State != intake.Approved {
			return err
		}
		if err := c.End(true, s.writing(ctx, at, "")); err != nil {
			return err
		}
		if err := st.UpdateCommission(ctx, c); err != nil {
			return err
		}
		return s.tellCommission(ctx, tx, c, at, now, finished(c))
	})
}
