package server

import (
	"context"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// RecordInspection implements InspectionService.
func (s *Server) RecordInspection(ctx context.Context, r *workflowv1.RecordInspectionRequest) (*workflowv1.RecordInspectionResponse, error) {
	now := s.Shop.Now()
	q, err := s.decodeInspection(ctx, r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.RecordInspectionResponse, error) {
		st := store.New(tx)
		plan, err := st.LockPlan(ctx, q.piece)
		if err != nil {
			return nil, err
		}
		i, err := s.inspect(ctx, st, &plan, q)
		if err != nil {
			return nil, err
		}
		moved, err := s.conclude(ctx, tx, &plan, &i, now)
		if err != nil {
			return nil, inspectTime(err)
		}
		answer := &workflowv1.RecordInspectionResponse{Inspection: encodeInspection(i)}
		for _, stage := range moved {
			answer.Stages = append(answer.Stages, encodeStage(&plan, *stage, now))
		}
		return answer, s.keepInspection(ctx, tx, &plan, i, now)
	})
}

// inspecting is a look at a stage as it is asked for.
type inspecting struct {
	piece, stage, by id.ID
	workflow.Look
}

func (s *Server) decodeInspection(ctx context.Context, r *workflowv1.RecordInspectionRequest) (q inspecting, err error) {
	q.Look = workflow.Look{Point: workflow.Point(r.Point), Passed: r.Passed, Note: r.Note, Actor: caller.Of(ctx).Actor}
	if q.At, err = s.Shop.Instant("inspect_time", r.InspectTime); err != nil {
		return q, err
	}
	q.At = q.At.In(s.Shop.Zone)
	if q.piece, q.stage, err = stageName("stage", r.Stage); err != nil {
		return q, err
	}
	if q.by, err = id.One("inspector", r.Inspector, "people"); err != nil {
		return q, err
	}
	if q.Defects, err = decodeFound(q.piece, r.Defects); err != nil || r.BackTo == "" {
		return q, err
	}
	piece, back, err := stageName("back_to", r.BackTo)
	if err == nil && piece != q.piece {
		err = fault.New(fault.Invalid, "BACK_TO_MISSING", "What has to be done again is a stage of another piece. Name one of this piece's own.").At("back_to")
	}
	q.BackTo = back
	return q, err
}

// inspect reads what a look at a stage is judged by, and decides on it.
func (s *Server) inspect(ctx context.Context, st store.Store, plan *workflow.Plan, q inspecting) (i workflow.Inspection, err error) {
	stage, err := plan.Stage(q.stage)
	if err != nil {
		return i, err
	}
	look := q.Look
	look.ID = id.New()
	if look.By, err = st.Person(ctx, q.by); err != nil {
		return i, atInspector(err)
	}
	if look.Others, err = st.PeopleWith(ctx, stage.Skill); err != nil {
		return i, err
	}
	if look.Hands, err = st.Hands(ctx, plan.Piece.ID); err != nil {
		return i, err
	}
	if look.Parts, err = st.Parts(ctx, plan.Piece.ID); err != nil {
		return i, err
	}
	if i, err = plan.Inspect(q.stage, look); err != nil {
		return i, whoElse(ctx, st, plan, q.stage, "", look.At, err)
	}
	air, err := st.LastAir(ctx, i.Judged.Zone, i.Judged.LaidAt)
	i.Judged.Breathed(air)
	return i, err
}

// conclude finishes the stage that passed, as FinishStage does, or sends back what failed.
func (s *Server) conclude(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, i *workflow.Inspection, now time.Time) ([]*workflow.Stage, error) {
	st := store.New(tx)
	stage, err := plan.Stage(i.Stage)
	if err != nil {
		return nil, err
	}
	if i.Passed && !stage.Finished() { // runs show in a wet film, that it is good does not
		if _, err := couldStart(ctx, st, *stage, i.At, ""); err != nil {
			return nil, err
		}
	}
	last, err := st.LastWork(ctx, plan.Piece.ID, i.Stage)
	if err != nil {
		return nil, err
	}
	moved, err := plan.Conclude(i, last)
	if err != nil || len(moved) == 0 {
		return nil, err
	}
	c := change{event: stageSentBack(i.BackTo, i.Reason(), moved), stages: moved}
	if i.Passed {
		if c, err = s.finished(ctx, st, plan, moved[0]); err != nil {
			return nil, err
		}
	}
	return moved, s.save(ctx, tx, plan, c, i.At, now)
}

// finished is what follows from an inspection that was passed.
func (s *Server) finished(ctx context.Context, st store.Store, plan *workflow.Plan, stage *workflow.Stage) (change, error) {
	if err := learnLabour(ctx, st, *stage); err != nil {
		return change{}, err
	}
	wet, err := s.leftWet(ctx, st, plan, *stage, 0, "")
	return change{event: stageFinished(*stage, ""), stages: []*workflow.Stage{stage}, wet: wet}, err
}

// keepInspection writes what was found, and tells it.
func (s *Server) keepInspection(ctx context.Context, tx *pg.Tx, plan *workflow.Plan, i workflow.Inspection, now time.Time) error {
	st := store.New(tx)
	if err := st.InsertInspection(ctx, i); err != nil {
		return err
	}
	plan.Piece.Version++
	if err := s.note(ctx, tx, plan.Piece, i.At, now, stageInspected(i)); err != nil {
		return err
	}
	return st.UpdatePiece(ctx, plan.Piece)
}

// atInspector says that it is the inspector who is not there.
func atInspector(err error) error {
	if f := fault.Of(err); f != nil {
		return f.At("inspector")
	}
	return err
}

// inspectTime says that what is wrong with when a stage was finished or sent back is wrong with
// when it was looked at.
func inspectTime(err error) error {
	f := fault.Of(err)
	if f == nil || len(f.Fields) == 0 || (f.Fields[0].Path != "finish_time" && f.Fields[0].Path != "send_back_time") {
		return err
	}
	return f.At("inspect_time")
}

// ListInspections implements InspectionService.
func (s *Server) ListInspections(ctx context.Context, r *workflowv1.ListInspectionsRequest) (*workflowv1.ListInspectionsResponse, error) {
	filter := store.InspectionFilter{FailedOnly: r.FailedOnly}
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
	var found []workflow.Inspection
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		found, err = store.New(q).Inspections(ctx, filter, before, size)
		return err
	})
	if err == nil {
		err = s.listedOf(ctx, len(found), id.Nil, filter.Piece)
	}
	if err != nil {
		return nil, err
	}
	return &workflowv1.ListInspectionsResponse{Inspections: encodeInspections(found),
		NextPageToken: page.Next(found, size, func(i workflow.Inspection) any { return store.Mark{Start: i.At, ID: i.ID} })}, nil
}
