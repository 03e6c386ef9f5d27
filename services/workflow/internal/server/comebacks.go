package server

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// OpenComeback implements ComebackService.
func (s *Server) OpenComeback(ctx context.Context, r *workflowv1.OpenComebackRequest) (*workflowv1.OpenComebackResponse, error) {
	now := s.Shop.Now()
	c, err := s.decodeComeback(ctx, r)
	if err != nil {
		return nil, err
	}
	told, toldErr := s.askPiece(ctx, r.Piece) // before the transaction, judged inside
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.OpenComebackResponse, error) {
		if toldErr != nil {
			return nil, toldErr
		}
		st, opened := store.New(tx), c
		opened.ID = id.New()
		plan, parts, err := lockSold(ctx, st, c.Piece, told)
		if err != nil {
			return nil, err
		}
		other, err := st.OpenComeback(ctx, c.Piece)
		if err != nil {
			return nil, err
		}
		s.localComeback(other)
		plan.Piece.SoldAt = plan.Piece.SoldAt.In(s.Shop.Zone)
		if opened, err = plan.OpenComeback(opened, other, parts); err != nil {
			return nil, err
		}
		if err := st.InsertComeback(ctx, opened); err != nil {
			return nil, err
		}
		if err := s.note(ctx, tx, plan.Piece, opened.ReportedAt, now, comebackOpened(opened)); err != nil {
			return nil, err
		}
		return &workflowv1.OpenComebackResponse{Comeback: encodeComeback(opened)}, st.UpdatePiece(ctx, plan.Piece)
	})
}

// localComeback puts what a refusal says of a come-back into the shop's zone; nil is none.
func (s *Server) localComeback(c *workflow.Comeback) {
	if c != nil {
		c.ReportedAt = c.ReportedAt.In(s.Shop.Zone)
	}
}

// decodeComeback reads what came back, with times in the shop's zone.
func (s *Server) decodeComeback(ctx context.Context, r *workflowv1.OpenComebackRequest) (c workflow.Comeback, err error) {
	c = workflow.Comeback{ReportedBy: r.ReportedBy, Note: r.Note, Warranty: !r.Charged, InShop: r.Place != workflowv1.Comeback_PLACE_OWNER, Actor: caller.Of(ctx).Actor}
	if c.Piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
		return c, err
	}
	if c.ReportedAt, err = s.Shop.Instant("report_time", r.ReportTime); err != nil {
		return c, err
	}
	c.ReportedAt = c.ReportedAt.In(s.Shop.Zone)
	for n, m := range r.Faults {
		d := workflow.Defect{Kind: m.Kind, Photo: m.Photo, Note: m.Note}
		if d.Part, err = partName(m.Part, c.Piece); err != nil {
			return c, fieldIn(err, fmt.Sprintf("faults[%d]", n))
		}
		c.Faults = append(c.Faults, d)
	}
	return c, nil
}

// lockSold locks a piece, which perhaps nobody planned, and reads its plan and parts.
func lockSold(ctx context.Context, st store.Store, piece id.ID, told *intakev1.Piece) (plan workflow.Plan, parts []workflow.Part, err error) {
	if _, err = lockTold(ctx, st, piece, told); err != nil {
		return plan, nil, err
	}
	if plan, err = st.Plan(ctx, piece); err != nil {
		return plan, nil, err
	}
	parts, err = st.Parts(ctx, piece)
	return plan, parts, err
}

// returning is a come-back and its piece's plan, both locked.
type returning struct {
	st   store.Store
	plan workflow.Plan
	workflow.Comeback
}

// lockComeback locks the piece of a come-back and reads both. Fault: COMEBACK_NOT_FOUND.
func (s *Server) lockComeback(ctx context.Context, tx *pg.Tx, comeback id.ID) (b returning, err error) {
	b.st = store.New(tx)
	piece, err := b.st.PieceOfComeback(ctx, comeback)
	if err != nil {
		return b, err
	}
	if b.plan, err = b.st.LockPlan(ctx, piece); err != nil {
		return b, err
	}
	b.Comeback, err = b.st.Comeback(ctx, comeback)
	s.localComeback(&b.Comeback)
	return b, err
}

// CloseComeback implements ComebackService.
func (s *Server) CloseComeback(ctx context.Context, r *workflowv1.CloseComebackRequest) (*workflowv1.CloseComebackResponse, error) {
	now := s.Shop.Now()
	comeback, err := id.One("comeback", r.Comeback, "comebacks")
	if err != nil {
		return nil, err
	}
	how := workflow.Closing{Outcome: outcomes[r.Outcome], Note: r.Note, At: now.UTC().Truncate(time.Millisecond)}
	if how.ReturnedAt, err = s.Shop.Instant("return_time", r.ReturnTime); err != nil {
		return nil, err
	}
	how.ReturnedAt = how.ReturnedAt.In(s.Shop.Zone)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.CloseComebackResponse, error) {
		b, err := s.lockComeback(ctx, tx, comeback)
		if err != nil {
			return nil, err
		}
		c, err := s.closeComeback(ctx, tx, &b, how, now)
		return &workflowv1.CloseComebackResponse{Comeback: encodeComeback(c)}, err
	})
}

// closeComeback decides, writes and tells it.
func (s *Server) closeComeback(ctx context.Context, tx *pg.Tx, b *returning, how workflow.Closing, now time.Time) (c workflow.Comeback, err error) {
	if how.Worked, err = b.st.Worked(ctx, b.Piece); err != nil {
		return c, err
	}
	if how.SoldAt, err = b.st.SaleOf(ctx, b.Piece); err != nil {
		return c, err
	}
	c, dropped, err := b.plan.CloseComeback(b.Comeback, how)
	if err != nil {
		return c, err
	}
	if err := dropPlanned(ctx, b.st, b.Piece, dropped, how.At); err != nil {
		return c, err
	}
	if err := b.st.CloseComeback(ctx, c, dropped); err != nil {
		return c, err
	}
	if err := s.note(ctx, tx, b.plan.Piece, how.At, now, comebackClosed(c, dropped)); err != nil {
		return c, err
	}
	if err := s.renewDrying(ctx, tx, &b.plan, now); err != nil {
		return c, err
	}
	return c, b.st.UpdatePiece(ctx, b.plan.Piece)
}

// dropPlanned takes stages that are dropped out of the piece's finish plan, if it has one.
func dropPlanned(ctx context.Context, st store.Store, piece id.ID, dropped []id.ID, now time.Time) error {
	plan, kept, err := keptPlan(ctx, st, piece)
	if err != nil || !kept || len(dropped) == 0 {
		return err
	}
	return st.Supersede(ctx, plan.Without(dropped, caller.Of(ctx).Actor, "what came back was closed", now))
}

// GetComeback implements ComebackService.
func (s *Server) GetComeback(ctx context.Context, r *workflowv1.GetComebackRequest) (*workflowv1.GetComebackResponse, error) {
	comeback, err := id.One("name", r.Name, "comebacks")
	if err != nil {
		return nil, err
	}
	var c workflow.Comeback
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		c, err = store.New(q).Comeback(ctx, comeback)
		return err
	})
	if err != nil {
		return nil, atName(err)
	}
	return &workflowv1.GetComebackResponse{Comeback: encodeComeback(c)}, nil
}

// ListComebacks implements ComebackService.
func (s *Server) ListComebacks(ctx context.Context, r *workflowv1.ListComebacksRequest) (*workflowv1.ListComebacksResponse, error) {
	filter := store.ComebackFilter{OpenOnly: r.OpenOnly}
	if r.Piece != "" {
		piece, err := id.One("piece", r.Piece, "pieces")
		if err != nil {
			return nil, err
		}
		filter.Piece = piece
	}
	var before store.Mark
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var found []workflow.Comeback
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		found, err = store.New(q).Comebacks(ctx, filter, before, size)
		return err
	})
	if err == nil {
		err = s.listedOf(ctx, len(found), id.Nil, filter.Piece)
	}
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListComebacksResponse{NextPageToken: page.Next(found, size, func(c workflow.Comeback) any { return store.Mark{Start: c.ReportedAt, ID: c.ID} })}
	for _, c := range found {
		out.Comebacks = append(out.Comebacks, encodeComeback(c))
	}
	return out, nil
}
