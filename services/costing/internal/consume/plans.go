package consume

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// planned notes stages that are new in a piece's plan, or planned otherwise.
func (b *batch) planned(f costing.Fact, stages []*eventsv1.StagesPlanned_Stage, dropped ...string) error {
	all := make([]costing.Stage, len(stages))
	for n, s := range stages {
		i, err := id.Parse(s.GetStageId())
		if err != nil {
			return fmt.Errorf("stage: %w", err)
		}
		all[n] = costing.Stage{ID: i, Piece: f.Piece, Kind: s.GetKind(), Key: s.GetKey(), PartLabel: s.GetPartLabel(),
			Planned: time.Duration(s.GetAttendedMinutes()) * time.Minute, State: costing.StageOpen}
	}
	gone, err := stageIDs(dropped)
	if err != nil {
		return err
	}
	b.PlanStages(f, all, gone...)
	return nil
}

// amended notes what a new version of a plan added, changed and left out.
func (b *batch) amended(f costing.Fact, e *eventsv1.FinishPlanAmended) error {
	return b.planned(f, slices.Concat(e.GetAdded(), e.GetChanged()), e.GetDroppedStageIds()...)
}

// finish notes how the piece is to look, or which route it takes, if the event tells.
func (b *batch) finish(f costing.Fact, word string) {
	if word != "" {
		b.Of(f.Piece).Finish = &word
	}
}

// sentBack notes stages that are open again, and because of which one.
func (b *batch) sentBack(f costing.Fact, e *eventsv1.StageSentBack) error {
	because, err := id.Parse(e.GetStageId())
	if err != nil {
		return fmt.Errorf("stage: %w", err)
	}
	back := costing.SentBack{Fact: f, BecauseOf: because}
	for _, s := range e.GetReopened() {
		stage, err := id.Parse(s.GetStageId())
		if err != nil {
			return fmt.Errorf("stage: %w", err)
		}
		back.Stages = append(back.Stages, costing.Reopened{Stage: stage, Kind: s.GetKind()})
	}
	b.SendBack(back)
	return nil
}

// inspected notes what an inspection found that sent something back.
func (b *batch) inspected(f costing.Fact, e *eventsv1.StageInspected) error {
	if e.GetBackToStageId() == "" {
		return nil
	}
	back, err := id.Parse(e.GetBackToStageId())
	if err != nil {
		return fmt.Errorf("stage: %w", err)
	}
	i := costing.Inspection{Fact: f, BackTo: back}
	for _, d := range e.GetDefects() {
		i.Defects = append(i.Defects, d.GetKind())
	}
	b.Inspected(i)
	return nil
}

// stages notes that stages of a piece are in another state.
func (b *batch) stages(f costing.Fact, to costing.StageState, names ...string) error {
	all, err := stageIDs(names)
	if err != nil {
		return err
	}
	b.SetStages(f, to, all...)
	return nil
}

func stageIDs(names []string) (all []id.ID, err error) {
	all = make([]id.ID, len(names))
	for n, name := range names {
		if all[n], err = id.Parse(name); err != nil {
			return nil, fmt.Errorf("stage: %w", err)
		}
	}
	return all, nil
}

// replanned lists the pieces whose plans the events change.
func replanned(events []inbox.Event) (pieces []id.ID) {
	seen := map[id.ID]bool{}
	for _, e := range events {
		switch e.Payload.(type) {
		case *eventsv1.Envelope_StagesPlanned, *eventsv1.Envelope_FinishPlanApproved, *eventsv1.Envelope_FinishPlanAmended,
			*eventsv1.Envelope_StageFinished, *eventsv1.Envelope_StageSentBack, *eventsv1.Envelope_ComebackPlanned, *eventsv1.Envelope_ComebackClosed:
			if !seen[e.Piece] {
				seen[e.Piece] = true
				pieces = append(pieces, e.Piece)
			}
		}
	}
	return pieces
}
