package server

import (
	"context"
	"log/slog"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// SoldPieces is what intake asks of sales about several pieces.
type SoldPieces interface {
	ListListings(context.Context, *salesv1.ListListingsRequest, ...grpc.CallOption) (*salesv1.ListListingsResponse, error)
}

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

// wasInvoiced asks sales whether a commission's piece was sold, which is that it was invoiced.
func (s *Server) wasInvoiced(ctx context.Context, name string) (bool, error) {
	commission, err := id.One("commission", name, "commissions")
	if err != nil {
		return false, err
	}
	c, err := s.commission(ctx, commission)
	if err != nil || c.Piece == id.Nil {
		return false, err
	}
	return s.sold(ctx, c.Piece)
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
// id.Nil all.
func (s *Server) FinishInvoiced(ctx context.Context, piece id.ID) error {
	var all []store.OnBench
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		all, err = store.New(q).ApprovedPieces(ctx, piece)
		return err
	})
	if err != nil || len(all) == 0 {
		return err
	}
	sold, err := s.soldOf(ctx, all)
	if err != nil {
		return err
	}
	for _, b := range all {
		if !sold[id.Name("pieces", b.Piece)] {
			continue
		}
		if err := s.finishOne(ctx, b.Commission); err != nil {
			return err
		}
	}
	return nil
}

// askedAtOnce is the most that sales answers at once.
const askedAtOnce = 1000

// soldOf are the names of those pieces that were sold.
func (s *Server) soldOf(ctx context.Context, all []store.OnBench) (map[string]bool, error) {
	out := map[string]bool{}
	for len(all) > 0 {
		some := all[:min(len(all), askedAtOnce)]
		all = all[len(some):]
		r := &salesv1.ListListingsRequest{PageSize: askedAtOnce}
		for _, b := range some {
			r.Pieces = append(r.Pieces, id.Name("pieces", b.Piece))
		}
		listed, err := s.SoldPieces.ListListings(ctx, r)
		if err != nil {
			return nil, err
		}
		for _, l := range listed.Listings {
			out[l.Piece] = out[l.Piece] || l.State == salesv1.Listing_STATE_SOLD
		}
	}
	return out, nil
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

// freeIfInvoiced finishes the commission of a piece that was invoiced, so that another can begin. If that cannot be
// known now, what is commanded says that the piece has a commission.
func (s *Server) freeIfInvoiced(ctx context.Context, piece id.ID) {
	if piece != id.Nil {
		_ = s.FinishInvoiced(ctx, piece)
	}
}
