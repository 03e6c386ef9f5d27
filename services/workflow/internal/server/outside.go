package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// outsideCommand is a command on work that others do.
type outsideCommand interface {
	once.Command
	GetOutsideWork() string
}

// told is what a command did to outside work, under the lock of its piece, and when.
type told struct {
	event proto.Message
	at    time.Time
}

// onOutside loads outside work under its piece's lock, lets the command decide, and saves.
func onOutside[R proto.Message](ctx context.Context, s *Server, r outsideCommand, fn func(context.Context, store.Store, *workflow.Outside) (told, error), answer func(*workflowv1.OutsideWork) R) (none R, err error) {
	now := s.Shop.Now()
	outside, err := id.One("outside_work", r.GetOutsideWork(), "outsideWork")
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (none R, err error) {
		st := store.New(tx)
		o, piece, err := st.LockOutside(ctx, outside)
		if err != nil {
			return none, err
		}
		done, err := fn(ctx, st, &o)
		if err != nil {
			return none, err
		}
		if err := st.UpdateOutside(ctx, o); err != nil {
			return none, err
		}
		piece.Version++
		if err := s.note(ctx, tx, piece, done.at, now, done.event); err != nil {
			return none, err
		}
		return answer(s.encodeOutside(o)), st.UpdatePiece(ctx, piece)
	})
}

// ChaseOutsideWork implements OutsideWorkService.
func (s *Server) ChaseOutsideWork(ctx context.Context, r *workflowv1.ChaseOutsideWorkRequest) (*workflowv1.ChaseOutsideWorkResponse, error) {
	at, err := s.Shop.Instant("chase_time", r.ChaseTime)
	if err != nil {
		return nil, err
	}
	due, err := wire.Day("due_date", r.DueDate)
	if err != nil {
		return nil, err
	}
	return onOutside(ctx, s, r, func(ctx context.Context, st store.Store, o *workflow.Outside) (told, error) {
		o.BackAt = s.inShop(o.BackAt)
		c := workflow.Chase{ID: id.New(), At: at.In(s.Shop.Zone), Actor: caller.Of(ctx).Actor, Note: r.Note, Due: due}
		if err := o.Chase(c); err != nil {
			return told{}, err
		}
		return told{&eventsv1.OutsideWorkChased{OutsideWorkId: o.ID.String(), Note: r.Note, Due: r.DueDate, Kind: o.Kind, Firm: o.Firm}, at}, st.InsertChase(ctx, o.ID, c)
	}, func(o *workflowv1.OutsideWork) *workflowv1.ChaseOutsideWorkResponse {
		return &workflowv1.ChaseOutsideWorkResponse{OutsideWork: o}
	})
}

// CorrectOutsideBill implements OutsideWorkService.
func (s *Server) CorrectOutsideBill(ctx context.Context, r *workflowv1.CorrectOutsideBillRequest) (*workflowv1.CorrectOutsideBillResponse, error) {
	billed, err := s.Shop.Money("billed", r.Billed)
	if err != nil {
		return nil, err
	}
	now := s.Shop.Now()
	return onOutside(ctx, s, r, func(_ context.Context, _ store.Store, o *workflow.Outside) (told, error) {
		before := o.Billed
		if err := o.CorrectBill(billed); err != nil {
			return told{}, err
		}
		return told{&eventsv1.OutsideBillCorrected{OutsideWorkId: o.ID.String(), Before: s.toPrice(before), After: s.toPrice(o.Billed), Reason: r.Reason, Pass: o.Pass, Kind: o.Kind, Firm: o.Firm}, now}, nil
	}, func(o *workflowv1.OutsideWork) *workflowv1.CorrectOutsideBillResponse {
		return &workflowv1.CorrectOutsideBillResponse{OutsideWork: o}
	})
}

// inShop puts an instant into the shop's zone, for what a refusal says; the zero time stays.
func (s *Server) inShop(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.In(s.Shop.Zone)
}

// ListOutsideWork implements OutsideWorkService.
func (s *Server) ListOutsideWork(ctx context.Context, r *workflowv1.ListOutsideWorkRequest) (*workflowv1.ListOutsideWorkResponse, error) {
	filter := store.OutsideFilter{Back: r.IncludeBack, Unbilled: r.UnbilledOnly}
	if r.OverdueOnly {
		filter.DueBefore = s.today()
	}
	if r.Piece != "" {
		piece, err := id.One("piece", r.Piece, "pieces")
		if err != nil {
			return nil, err
		}
		filter.Piece = piece
	}
	var after store.OutsideMark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var all []workflow.Outside
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		all, err = store.New(q).OutsideWork(ctx, filter, after, size)
		return err
	})
	if err == nil {
		err = s.listedOf(ctx, len(all), id.Nil, filter.Piece)
	}
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListOutsideWorkResponse{NextPageToken: page.Next(all, size, func(o workflow.Outside) any { return store.OutsideMark{Due: o.Due, ID: o.ID} })}
	for _, o := range all {
		out.OutsideWork = append(out.OutsideWork, s.encodeOutside(o))
	}
	return out, nil
}
