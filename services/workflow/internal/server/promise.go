package server

import (
	"context"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// PromisePiece implements StageService.
func (s *Server) PromisePiece(ctx context.Context, r *workflowv1.PromisePieceRequest) (*workflowv1.PromisePieceResponse, error) {
	now := s.Shop.Now()
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	promise, err := readPromise(r.PromiseTime)
	if err != nil {
		return nil, err
	}
	value, err := s.readValue(r.Value)
	if err != nil {
		return nil, err
	}
	// Asked before the transaction, judged inside, as PlanStages does.
	told, intakeErr := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: r.Piece})
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.PromisePieceResponse, error) {
		if intakeErr != nil {
			return nil, atPiece(intakeErr)
		}
		st := store.New(tx)
		piece, err := st.LockNewPiece(ctx, pieceID, told.Piece.Tag, told.Piece.TakenInTime.AsTime())
		if err != nil {
			return nil, err
		}
		piece.Scrapped = piece.Scrapped || told.Piece.State == intakev1.Piece_STATE_SCRAPPED
		until, worth := promise, value
		if r.KeepUnsaid {
			until, worth = keptPromise(piece, promise, value)
		}
		if err := piece.Promise(until, worth); err != nil {
			return nil, err
		}
		if err := st.Promise(ctx, piece); err != nil {
			return nil, err
		}
		if err := st.UpdatePiece(ctx, piece); err != nil {
			return nil, err
		}
		event := &eventsv1.PiecePromised{PromiseTime: wire.ToInstant(piece.Promised), Value: s.toValue(piece)}
		return &workflowv1.PromisePieceResponse{PromiseTime: event.PromiseTime, Value: event.Value}, s.note(ctx, tx, piece, now, now, event)
	})
}

// keptPromise is what a piece is promised for and worth, where it stays what nobody says.
func keptPromise(p workflow.Piece, until time.Time, value *int64) (time.Time, *int64) {
	if until.IsZero() {
		until = p.Promised
	}
	if value == nil {
		value = p.Value
	}
	return until, value
}

// readPromise reads until when something is promised, which may lie ahead; absent is the zero
// time. Faults: TIME_MALFORMED, TIME_TOO_OLD.
func readPromise(ts *timestamppb.Timestamp) (time.Time, error) {
	if ts == nil {
		return time.Time{}, nil
	}
	if err := ts.CheckValid(); err != nil {
		return time.Time{}, fault.New(fault.Invalid, "TIME_MALFORMED", "The promised time is not an instant.").At("promise_time").Because(err)
	}
	t := ts.AsTime().Truncate(time.Millisecond)
	if t.Before(wire.Oldest) {
		return t, fault.New(fault.Invalid, "TIME_TOO_OLD", "The promised time is before the year 2000; check the date.").At("promise_time")
	}
	return t, nil
}

// readValue reads what a piece is worth, in minor units; absent is nil.
func (s *Server) readValue(m *money.Money) (*int64, error) {
	if m == nil {
		return nil, nil
	}
	amount, err := s.Shop.Money("value", m)
	value := int64(amount)
	return &value, err
}

// toValue writes what a piece is worth; absent: nobody said.
func (s *Server) toValue(p workflow.Piece) *money.Money {
	if p.Value == nil {
		return nil
	}
	return s.Shop.ToMoney(moneypkg.Amount(*p.Value))
}
