package server

import (
	"context"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/caller"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// ApproveEstimate implements CommissionService.
func (s *Server) ApproveEstimate(ctx context.Context, r *intakev1.ApproveEstimateRequest) (*intakev1.ApproveEstimateResponse, error) {
	now := s.Shop.Now()
	answer, err := s.decodeAnswer(ctx, r.Answer)
	if err != nil {
		return nil, err
	}
	change := func(_ context.Context, _ store.Store, c *intake.Commission) error {
		return s.inZone(c).Approve(r.Version, answer, s.dayOf(answer.At))
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.ApproveEstimateResponse, error) {
		return &intakev1.ApproveEstimateResponse{Commission: s.encodeCommission(c), PromiseToMake: toDayOrNone(c.Promised())}, s.tellCommission(ctx, tx, c, answer.At, now, s.answered(c))
	})
}

// DeclineEstimate implements CommissionService.
func (s *Server) DeclineEstimate(ctx context.Context, r *intakev1.DeclineEstimateRequest) (*intakev1.DeclineEstimateResponse, error) {
	now := s.Shop.Now()
	answer, err := s.decodeAnswer(ctx, r.Answer)
	if err != nil {
		return nil, err
	}
	change := func(_ context.Context, _ store.Store, c *intake.Commission) error {
		return s.inZone(c).Decline(r.Version, answer)
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.DeclineEstimateResponse, error) {
		return &intakev1.DeclineEstimateResponse{Commission: s.encodeCommission(c)}, s.tellCommission(ctx, tx, c, answer.At, now, s.answered(c))
	})
}

// inZone has the times that refusals say in the shop's zone.
func (s *Server) inZone(c *intake.Commission) *intake.Commission {
	for i := range c.Estimates {
		c.Estimates[i].DraftedAt = c.Estimates[i].DraftedAt.In(s.Shop.Zone)
	}
	for i := range c.ChangeOrders {
		c.ChangeOrders[i].AddedAt = c.ChangeOrders[i].AddedAt.In(s.Shop.Zone)
	}
	return c
}

func (s *Server) answered(c intake.Commission) *eventsv1.EstimateAnswered {
	e := c.Last()
	return &eventsv1.EstimateAnswered{Number: c.Number, Version: e.Number, Approved: c.State == intake.Approved, By: e.Answer.By, How: string(e.Answer.How),
		Total: s.Shop.ToMoney(e.Totals.Total), Promised: toDayOrNone(e.Draft.Promised), Reason: e.Answer.Reason}
}

// AddChangeOrder implements CommissionService.
func (s *Server) AddChangeOrder(ctx context.Context, r *intakev1.AddChangeOrderRequest) (*intakev1.AddChangeOrderResponse, error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("add_time", r.AddTime)
	if err != nil {
		return nil, err
	}
	lines, err := s.decodeLines("lines", r.Lines)
	if err != nil {
		return nil, err
	}
	promised, err := wire.Day("promised", r.Promised)
	if err != nil {
		return nil, err
	}
	undone, invoiced := s.invoiced(ctx, r.Commission)
	change := func(ctx context.Context, st store.Store, c *intake.Commission) error {
		if invoiced != nil {
			return invoiced
		}
		terms, err := st.CommissionTerms(ctx)
		if err != nil {
			return err
		}
		c.Reopen(undone)
		return c.AddChangeOrder(lines, promised, terms, s.writing(ctx, at, r.Reason))
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.AddChangeOrderResponse, error) {
		o := c.ChangeOrders[len(c.ChangeOrders)-1]
		return &intakev1.AddChangeOrderResponse{Commission: s.encodeCommission(c)}, s.tellCommission(ctx, tx, c, at, now, s.orderNoted(c, o))
	})
}

// AnswerChangeOrder implements CommissionService.
func (s *Server) AnswerChangeOrder(ctx context.Context, r *intakev1.AnswerChangeOrderRequest) (*intakev1.AnswerChangeOrderResponse, error) {
	now := s.Shop.Now()
	answer, err := s.decodeAnswer(ctx, r.Answer)
	if err != nil {
		return nil, err
	}
	var o intake.ChangeOrder
	undone, invoiced := s.invoiced(ctx, r.Commission)
	change := func(_ context.Context, _ store.Store, c *intake.Commission) (err error) {
		if invoiced != nil {
			return invoiced
		}
		c.Reopen(undone)
		o, err = s.inZone(c).AnswerChangeOrder(r.Number, r.Approve, answer)
		return err
	}
	return changing(ctx, s, r, now, change, func(ctx context.Context, tx *pg.Tx, c intake.Commission) (*intakev1.AnswerChangeOrderResponse, error) {
		out := &intakev1.AnswerChangeOrderResponse{Commission: s.encodeCommission(c)}
		if o.State == intake.OrderApproved {
			out.PromiseToMake = toDayOrNone(o.Promised)
		}
		return out, s.tellCommission(ctx, tx, c, answer.At, now, s.orderNoted(c, o))
	})
}

func (s *Server) orderNoted(c intake.Commission, o intake.ChangeOrder) *eventsv1.ChangeOrderNoted {
	e := &eventsv1.ChangeOrderNoted{Number: c.Number, ChangeOrder: o.Number, State: string(o.State), Reason: o.Reason, Total: s.Shop.ToMoney(o.Totals.Total), Promised: toDayOrNone(o.Promised)}
	if a := o.Answer; a != nil {
		e.By, e.How = a.By, string(a.How)
		if o.State == intake.OrderDeclined {
			e.Reason = a.Reason
		}
	}
	return e
}

func (s *Server) decodeAnswer(ctx context.Context, m *intakev1.ClientAnswer) (a intake.ClientAnswer, err error) {
	a = intake.ClientAnswer{By: wire.Name(m.By), How: answerHows[m.How], Reason: m.Reason, Actor: caller.Of(ctx).Actor}
	a.At, err = s.Shop.Instant("answer.time", m.Time)
	return a, err
}

var answerHows = map[intakev1.ClientAnswer_How]intake.AnswerHow{
	intakev1.ClientAnswer_HOW_IN_PERSON: intake.InPerson, intakev1.ClientAnswer_HOW_BY_PHONE: intake.ByPhone, intakev1.ClientAnswer_HOW_IN_WRITING: intake.InWriting,
}

// toDayOrNone writes a day; the zero time is absent.
func toDayOrNone(day time.Time) *date.Date {
	if day.IsZero() {
		return nil
	}
	return wire.ToDay(day)
}
