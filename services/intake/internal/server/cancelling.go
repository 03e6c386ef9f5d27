package server

import (
	"context"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// Clocks is what intake asks of workflow about work that was done.
type Clocks interface {
	ListClockEntries(context.Context, *workflowv1.ListClockEntriesRequest, ...grpc.CallOption) (*workflowv1.ListClockEntriesResponse, error)
}

// CancelCommission implements CommissionService.
func (s *Server) CancelCommission(ctx context.Context, r *intakev1.CancelCommissionRequest) (*intakev1.CancelCommissionResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("cancel_time", r.CancelTime)
	if err != nil {
		return nil, err
	}
	deposit, err := s.Shop.Money("deposit_paid", r.DepositPaid)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside: a command that was done before is answered as it was then, also
	// when those who are asked are away now.
	done, undone, of, doneErr := s.doneSoFar(ctx, r.Commission)
	change := func(ctx context.Context, st store.Store, c *intake.Commission) error {
		if doneErr != nil {
			return doneErr
		}
		if err := wire.CheckEtag(wire.Etag(of), c.Version); err != nil {
			return err
		}
		terms, err := st.CommissionTerms(ctx)
		if err != nil {
			return err
		}
		c.Reopen(undone)
		return c.Cancel(done, deposit, terms, s.writing(ctx, at, r.Reason))
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.CancelCommissionResponse, error) {
		e := &eventsv1.CommissionCancelled{Number: c.Number, Reason: r.Reason, Owed: s.Shop.ToMoney(c.Settlement.Owed), DepositPaid: s.Shop.ToMoney(deposit)}
		return &intakev1.CancelCommissionResponse{Commission: s.encodeCommission(c)}, s.tellCommission(ctx, tx, c, at, now, e)
	})
}

// PreviewCancellation implements CommissionService.
func (s *Server) PreviewCancellation(ctx context.Context, r *intakev1.PreviewCancellationRequest) (*intakev1.PreviewCancellationResponse, error) {
	deposit, err := s.Shop.Money("deposit_paid", r.DepositPaid)
	if err != nil {
		return nil, err
	}
	done, undone, of, err := s.doneSoFar(ctx, r.Commission)
	if err != nil {
		return nil, err
	}
	commission, err := id.One("commission", r.Commission, "commissions")
	if err != nil {
		return nil, err
	}
	var owed intake.Settlement
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		c, err := st.GetCommission(ctx, commission)
		if err != nil {
			return err
		}
		if err := wire.CheckEtag(wire.Etag(of), c.Version); err != nil {
			return err
		}
		terms, err := st.CommissionTerms(ctx)
		if err != nil {
			return err
		}
		c.Reopen(undone)
		owed, err = c.Settle(done, deposit, terms, s.writing(ctx, s.Shop.Now(), ""))
		return err
	})
	if err != nil {
		return nil, err
	}
	return &intakev1.PreviewCancellationResponse{Settlement: s.encodeSettlement(&owed), Etag: wire.Etag(of)}, nil
}

// doneSoFar asks workflow and materials what was done on a commission's piece, whether its invoice was undone, and says
// of which version of the commission that is. Of one without a piece nothing was, and of one that was not approved
// nothing is owed. Faults: PIECE_SOLD, WORK_STILL_CLOCKED.
func (s *Server) doneSoFar(ctx context.Context, name string) (d intake.Done, undone bool, version int64, err error) {
	commission, err := id.One("commission", name, "commissions")
	if err != nil {
		return d, false, 0, err
	}
	c, err := s.commission(ctx, commission)
	if err != nil || c.Piece == id.Nil {
		return d, false, c.Version, err
	}
	if c.WasInvoiced() {
		undone, err = s.undone(ctx, c)
		c.Reopen(undone)
	}
	if err != nil || c.State != intake.Approved {
		return d, undone, c.Version, err
	}
	if err := s.notInvoiced(ctx, c); err != nil {
		return d, undone, c.Version, err
	}
	piece := id.Name("pieces", c.Piece)
	if d.Minutes, d.Rework, err = s.clocked(ctx, piece); err != nil {
		return d, undone, c.Version, err
	}
	d.Material, err = s.issuedTo(ctx, piece)
	return d, undone, c.Version, err
}

// clocked is what was worked on a piece, in minutes, each of the two rounded once, half a minute up.
// Fault: WORK_STILL_CLOCKED.
func (s *Server) clocked(ctx context.Context, piece string) (first, rework int32, err error) {
	var worked [2]time.Duration
	r := &workflowv1.ListClockEntriesRequest{Piece: piece, PageSize: 1000}
	for more := true; more; more = r.PageToken != "" {
		page, err := s.Clocks.ListClockEntries(ctx, r)
		if err != nil {
			return 0, 0, err
		}
		for _, e := range page.ClockEntries {
			switch {
			case e.Superseded:
			case e.EndTime == nil:
				return 0, 0, fault.New(fault.Precondition, "WORK_STILL_CLOCKED", "%s is still on the clock at this piece; clock them off first, so that what is owed is known.", e.PersonName)
			case e.Pass > 1:
				worked[1] += e.EndTime.AsTime().Sub(e.StartTime.AsTime())
			default:
				worked[0] += e.EndTime.AsTime().Sub(e.StartTime.AsTime())
			}
		}
		r.PageToken = page.NextPageToken
	}
	return int32(worked[0].Round(time.Minute) / time.Minute), int32(worked[1].Round(time.Minute) / time.Minute), nil
}

// issuedTo is what the material of a piece's first pass cost, less what came back.
func (s *Server) issuedTo(ctx context.Context, piece string) (sum money.Amount, err error) {
	r := &materialsv1.ListIssuesRequest{Piece: piece, PageSize: 1000}
	for more := true; more; more = r.PageToken != "" {
		page, err := s.Materials.ListIssues(ctx, r)
		if err != nil {
			return 0, err
		}
		for _, i := range page.Issues {
			if i.TakenBack || i.Pass > 1 {
				continue
			}
			cost, err := s.Shop.Money("cost", i.Cost)
			if err != nil {
				return 0, err
			}
			back, err := s.Shop.Money("returned_cost", i.ReturnedCost)
			if err != nil {
				return 0, err
			}
			sum += cost - back
		}
		r.PageToken = page.NextPageToken
	}
	return sum, nil
}
