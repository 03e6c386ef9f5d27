package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// EnterOverheadActual implements OverheadService. It is booked while nothing else is, so that a
// rebuild either has it or begins anew.
func (s *Server) EnterOverheadActual(ctx context.Context, r *costingv1.EnterOverheadActualRequest) (*costingv1.EnterOverheadActualResponse, error) {
	now := s.now()
	actual, err := s.decodeActual(r, now)
	if err != nil {
		return nil, err
	}
	actual.Actor, actual.RecordedAt = caller.Of(ctx).Actor, now
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.EnterOverheadActualResponse, error) {
		s.Keeper.Freeze(ctx, tx)
		open, err := s.openSince(ctx, store.New(tx))
		if err != nil {
			return nil, err
		}
		if err := inOpen("date", actual.Day, open); err != nil {
			return nil, err
		}
		return &costingv1.EnterOverheadActualResponse{OverheadActual: s.encodeActual(actual)}, s.spend(ctx, tx, actual)
	})
}

func (s *Server) decodeActual(r *costingv1.EnterOverheadActualRequest, now time.Time) (a costing.OverheadActual, err error) {
	a = costing.OverheadActual{ID: id.New(), What: r.What, Note: r.Note}
	if a.Day, a.At, err = s.bookDay("date", r.Date); err != nil {
		return a, err
	}
	if a.At.After(now) {
		return a, fault.New(fault.Invalid, "DATE_IN_FUTURE", "%s has not come yet; enter it then.", dayOf(a.Day)).At("date")
	}
	if a.Amount, err = s.Shop.Money("amount", r.Amount); err != nil {
		return a, err
	}
	if a.Amount == 0 {
		return a, fault.New(fault.Invalid, "AMOUNT_NOT_POSITIVE", "The amount must be above zero.").At("amount")
	}
	return a, nil
}

// spend writes and books what was spent, or that it was not.
func (s *Server) spend(ctx context.Context, tx *pg.Tx, a costing.OverheadActual) error {
	if err := store.New(tx).InsertOverheadActual(ctx, a); err != nil {
		return err
	}
	b := costing.NewBook(s.Keeper.Rules)
	b.SpendOverhead(a)
	return s.keep(ctx, tx, b, a.RecordedAt)
}

// TakeBackOverheadActual implements OverheadService.
func (s *Server) TakeBackOverheadActual(ctx context.Context, r *costingv1.TakeBackOverheadActualRequest) (*costingv1.TakeBackOverheadActualResponse, error) {
	now := s.now()
	entered, err := id.One("name", r.Name, "overheadActuals")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.TakeBackOverheadActualResponse, error) {
		s.Keeper.Freeze(ctx, tx)
		st := store.New(tx)
		actual, err := st.OverheadActual(ctx, entered)
		if err != nil {
			return nil, err
		}
		open, err := s.openSince(ctx, st)
		if err != nil {
			return nil, err
		}
		back, err := actual.Back(open)
		if err != nil {
			return nil, err
		}
		back.Reason, back.Actor, back.RecordedAt = r.Reason, caller.Of(ctx).Actor, now
		return &costingv1.TakeBackOverheadActualResponse{OverheadActual: s.encodeActual(back)}, s.spend(ctx, tx, back)
	})
}

func (s *Server) encodeActual(a costing.OverheadActual) *costingv1.OverheadActual {
	out := &costingv1.OverheadActual{Name: id.Name("overheadActuals", a.ID), Date: wire.ToDay(a.Day), What: a.What, Amount: s.Shop.ToMoney(a.Amount), Note: a.Note,
		Reason: a.Reason, Actor: a.Actor, CreateTime: wire.ToInstant(a.RecordedAt)}
	if a.TakesBack != id.Nil {
		out.TakesBack = id.Name("overheadActuals", a.TakesBack)
	}
	if a.TakenBackBy != id.Nil {
		out.TakenBackBy = id.Name("overheadActuals", a.TakenBackBy)
	}
	return out
}

// endless is later than all that the books have.
var endless = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)

// ListOverheadActuals implements OverheadService.
func (s *Server) ListOverheadActuals(ctx context.Context, r *costingv1.ListOverheadActualsRequest) (*costingv1.ListOverheadActualsResponse, error) {
	since, before := wire.Oldest.AddDate(0, 0, -1), endless
	if r.Month != nil {
		month, err := s.decodeMonth("month", r.Month)
		if err != nil {
			return nil, err
		}
		since, before = month.From, month.To
	}
	all, next, err := records(ctx, s, r, func(a costing.OverheadActual) id.ID { return a.ID }, func(st store.Store, after id.ID, limit int32) ([]costing.OverheadActual, error) {
		return st.ListOverheadActuals(ctx, after, since, before, limit)
	})
	if err != nil {
		return nil, err
	}
	return &costingv1.ListOverheadActualsResponse{OverheadActuals: encoded(all, s.encodeActual), NextPageToken: next}, nil
}
