package server

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/markdown"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// SetMarkdownPlan implements MarkdownService.
func (s *Server) SetMarkdownPlan(ctx context.Context, r *salesv1.SetMarkdownPlanRequest) (*salesv1.SetMarkdownPlanResponse, error) {
	now := s.Shop.Now()
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	said, err := s.decodePlan(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.SetMarkdownPlanResponse, error) {
		l, err := lockAt(ctx, store.New(tx), piece, r.Etag)
		if err != nil {
			return nil, err
		}
		plan, err := s.beginPlan(ctx, tx, &l, said, now)
		if err != nil {
			return nil, err
		}
		return &salesv1.SetMarkdownPlanResponse{Plan: s.encodePlan(piece, plan), Listing: s.encode(l)}, nil
	})
}

// beginPlan begins a plan for a listing that is locked, and writes both with the event.
func (s *Server) beginPlan(ctx context.Context, tx *pg.Tx, l *sales.Listing, said sales.Plan, now time.Time) (plan sales.Plan, err error) {
	said.SetAt = now.UTC().Truncate(time.Millisecond)
	if plan, err = l.SetPlan(said, markdown.Today(s.Shop, now)); err != nil {
		return plan, err
	}
	st := store.New(tx)
	if err := st.Update(ctx, *l); err != nil {
		return plan, err
	}
	if err := st.SavePlan(ctx, l.Piece, plan); err != nil {
		return plan, err
	}
	return plan, s.append(ctx, tx, *l, plan.SetAt, now, s.planSet(plan))
}

// DropMarkdownPlan implements MarkdownService.
func (s *Server) DropMarkdownPlan(ctx context.Context, r *salesv1.DropMarkdownPlanRequest) (*salesv1.DropMarkdownPlanResponse, error) {
	now := s.Shop.Now()
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.DropMarkdownPlanResponse, error) {
		st := store.New(tx)
		l, err := lockAt(ctx, st, piece, r.Etag)
		if err != nil {
			return nil, err
		}
		plan, err := st.Plan(ctx, piece)
		if err != nil && !fault.Is(err, sales.ErrNoPlan.Reason) {
			return nil, err
		}
		if err := l.Drop(&plan); err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		if err := st.SavePlan(ctx, piece, plan); err != nil {
			return nil, err
		}
		return &salesv1.DropMarkdownPlanResponse{Plan: s.encodePlan(piece, plan), Listing: s.encode(l)},
			s.append(ctx, tx, l, now.UTC(), now, &eventsv1.MarkdownPlanDropped{Reason: r.Reason})
	})
}

// GetMarkdownPlan implements MarkdownService.
func (s *Server) GetMarkdownPlan(ctx context.Context, r *salesv1.GetMarkdownPlanRequest) (*salesv1.GetMarkdownPlanResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	var plan sales.Plan
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if _, err := st.Get(ctx, piece); err != nil {
			return err
		}
		plan, err = st.Plan(ctx, piece)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &salesv1.GetMarkdownPlanResponse{Plan: s.encodePlan(piece, plan)}, nil
}

// decodePlan reads steps and the least price. Faults: those of money and of days.
func (s *Server) decodePlan(r *salesv1.SetMarkdownPlanRequest) (p sales.Plan, err error) {
	for i, told := range r.Steps {
		field, step := fmt.Sprintf("steps[%d]", i), sales.Step{}
		if step.Day, err = wire.Day(field+".date", told.Date); err != nil {
			return p, err
		}
		if step.Asking, err = s.Shop.Money(field+".asking_price", told.AskingPrice); err != nil {
			return p, err
		}
		p.Steps = append(p.Steps, step)
	}
	p.Least, err = s.Shop.Money("least_price", r.LeastPrice)
	return p, err
}
