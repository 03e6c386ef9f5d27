package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ReceiveOutsideWork implements OutsideWorkService.
func (s *Server) ReceiveOutsideWork(ctx context.Context, r *workflowv1.ReceiveOutsideWorkRequest) (*workflowv1.ReceiveOutsideWorkResponse, error) {
	now := s.Shop.Now()
	b, err := s.decodeBack(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.ReceiveOutsideWorkResponse, error) {
		st := store.New(tx)
		o, _, err := st.LockOutside(ctx, b.outside)
		if err != nil {
			return nil, err
		}
		plan, err := st.Plan(ctx, o.Piece)
		if err != nil {
			return nil, err
		}
		if err := s.receive(ctx, tx, &plan, &o, b, now); err != nil {
			return nil, receiveTime(err)
		}
		return &workflowv1.ReceiveOutsideWorkResponse{OutsideWork: s.encodeOutside(o)}, nil
	})
}

// back is outside work that comes back as it is told.
type back struct {
	outside id.ID
	station string // its word; empty: at none
	workflow.Receipt
}

func (s *Server) decodeBack(r *workflowv1.ReceiveOutsideWorkRequest) (b back, err error) {
	b.CalledOff = r.CalledOff
	if b.At, err = s.Shop.Instant("receive_time", r.ReceiveTime); err != nil {
		return b, err
	}
	b.At = b.At.In(s.Shop.Zone)
	if b.outside, err = id.One("outside_work", r.OutsideWork, "outsideWork"); err != nil {
		return b, err
	}
	if b.Billed, err = s.price("billed", r.Billed); err != nil {
		return b, err
	}
	b.station, err = optionalStation(r.Station)
	return b, err
}

// receive takes outside work back, tells it, and finishes the stage that it did; its parts are
// carried where they now stand.
func (s *Server) receive(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, o *workflow.Outside, b back, now time.Time) error {
	st := store.New(tx)
	o.BackAt = s.inShop(o.BackAt)
	if err := plan.Receive(o, b.Receipt); err != nil {
		return err
	}
	if err := st.UpdateOutside(ctx, *o); err != nil {
		return err
	}
	if err := st.ComeBack(ctx, *o); err != nil {
		return err
	}
	if err := s.note(ctx, tx, plan.Piece, o.BackAt, now, s.outsideReceived(*o)); err != nil {
		return err
	}
	if err := s.didOutside(ctx, tx, plan, *o, now); err != nil {
		return err
	}
	if b.station == "" {
		return st.UpdatePiece(ctx, plan.Piece)
	}
	return s.putDown(ctx, tx, plan.Piece, *o, b.station, now)
}

// didOutside finishes the stage that outside work did.
func (s *Server) didOutside(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, o workflow.Outside, now time.Time) error {
	last, err := store.New(tx).LastWork(ctx, plan.Piece.ID, o.Stage)
	if err != nil {
		return err
	}
	stage, err := plan.Done(o, last)
	if err != nil || stage == nil {
		return err
	}
	return s.save(ctx, tx, plan, change{event: stageFinished(*stage, ""), stages: []*workflow.Stage{stage}}, o.BackAt, now)
}

// putDown carries what is back to a station.
func (s *Server) putDown(ctx context.Context, tx *pg.Tx, piece workflow.Piece, o workflow.Outside, station string, now time.Time) error {
	to, where, err := store.New(tx).LockCarrying(ctx, piece.ID, station, o.BackAt)
	if err != nil {
		return err
	}
	m, err := where.Carry(piece, o.Part, to, o.BackAt, id.New)
	if err != nil {
		return err
	}
	_, err = s.carry(ctx, tx, piece, m, now)
	return err
}

// receiveTime says that what is wrong with when a stage was finished, or a part carried, is
// wrong with when the work came back.
func receiveTime(err error) error {
	if f := fault.Of(err); f != nil && len(f.Fields) > 0 && (f.Fields[0].Path == "finish_time" || f.Fields[0].Path == "move_time") {
		return f.At("receive_time")
	}
	return err
}
