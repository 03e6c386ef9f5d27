package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// SetStandardRate implements AnswerService. It is recorded while no other term is, so that of two
// that begin on a day the second sees the first.
func (s *Server) SetStandardRate(ctx context.Context, r *costingv1.SetStandardRateRequest) (*costingv1.SetStandardRateResponse, error) {
	now := s.now()
	rate := costing.StandardRate{ID: id.New(), Actor: caller.Of(ctx).Actor, RecordedAt: now}
	var err error
	if rate.PerHour, err = s.perHour(r.PerHour); err != nil {
		return nil, err
	}
	if rate.Day, rate.From, err = s.bookDay("effective_date", r.EffectiveDate); err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.SetStandardRateResponse, error) {
		s.Inbox.Freeze(ctx, tx)
		st := store.New(tx)
		known, err := st.StandardRates(ctx)
		if err != nil {
			return nil, err
		}
		if err := rate.Admit(known, r.Replaces, s.Shop.Currency); err != nil {
			return nil, err
		}
		return &costingv1.SetStandardRateResponse{StandardRate: s.encodeStandardRate(rate)}, st.InsertStandardRate(ctx, rate)
	})
}

// ListStandardRates implements AnswerService.
func (s *Server) ListStandardRates(ctx context.Context, r *costingv1.ListStandardRatesRequest) (*costingv1.ListStandardRatesResponse, error) {
	all, next, err := records(ctx, s, r, func(r costing.StandardRate) id.ID { return r.ID }, func(st store.Store, after id.ID, limit int32) ([]costing.StandardRate, error) {
		return st.ListStandardRates(ctx, after, limit)
	})
	if err != nil {
		return nil, err
	}
	return &costingv1.ListStandardRatesResponse{StandardRates: encoded(all, s.encodeStandardRate), NextPageToken: next}, nil
}

var measured = map[costingv1.ListPlanActualsRequest_By]costing.Measured{
	costingv1.ListPlanActualsRequest_BY_STAGE: costing.ByStage, costingv1.ListPlanActualsRequest_BY_STAGE_KIND: costing.ByStageKind,
	costingv1.ListPlanActualsRequest_BY_PIECE: costing.ByPiece, costingv1.ListPlanActualsRequest_BY_MONTH: costing.ByMonth,
}

// ListPlanActuals implements AnswerService.
func (s *Server) ListPlanActuals(ctx context.Context, r *costingv1.ListPlanActualsRequest) (*costingv1.ListPlanActualsResponse, error) {
	filter, until, err := s.decodeStages(r)
	if err != nil {
		return nil, err
	}
	var work []costing.StageWork
	var by costing.Yardstick
	var average *money.Amount
	out := &costingv1.ListPlanActualsResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if filter.Piece != id.Nil {
			if err := st.Known(ctx, filter.Piece); err != nil {
				return err
			}
		}
		if work, err = st.StageWork(ctx, filter, s.Keeper.Rules.Wages()); err != nil {
			return err
		}
		if by, average, err = st.Yardstick(ctx, costing.MeasuredAt(work), until); err != nil || filter.Kind == "" || len(work) > 0 {
			return err
		}
		planned, err := st.StageKinds(ctx)
		for _, unknown := range encodeUnknown(costing.UnknownKinds([]string{filter.Kind}, planned)) {
			out.UnknownStageKind = unknown
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	lines, total := costing.Measure(work, measured[r.By], by, s.Shop.Zone)
	out.Total = s.encodePlanActual(total)
	if average != nil {
		out.AverageRate = s.Shop.ToMoney(*average)
	}
	lines, out.NextPageToken, err = pageOf(lines, r.PageToken, r.PageSize)
	for _, l := range lines {
		out.Lines = append(out.Lines, s.encodePlanActual(l))
	}
	return out, err
}

// decodeStages reads which stages are asked for, and as of when hours are averaged.
func (s *Server) decodeStages(r *costingv1.ListPlanActualsRequest) (f store.StageFilter, until time.Time, err error) {
	until, f.Kind = s.Shop.Now(), r.StageKind
	if r.Piece != "" {
		if f.Piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
			return f, until, err
		}
	}
	if r.FromDate == nil && r.ToDate == nil {
		return f, until, nil
	}
	p, err := s.period(r.FromDate, r.ToDate)
	f.Done = &p
	if p.To.Before(until) {
		until = p.To
	}
	return f, until, err
}

// standardNow is what an hour should cost now. Fault: STANDARD_RATE_MISSING.
func standardNow(by costing.Yardstick, now time.Time) (money.Amount, error) {
	standard, known := by.At(now)
	if !known {
		return 0, fault.New(fault.Precondition, "STANDARD_RATE_MISSING", "Nobody said what an hour should cost, and there are no pay rates to take an average of. Set a standard rate first.").At("time_to_come")
	}
	return standard, nil
}
