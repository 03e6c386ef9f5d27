package consume

import (
	"fmt"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
)

// planned notes what the stages of a piece need.
func (b *batch) planned(e inbox.Event, told []*eventsv1.StagesPlanned_Stage) error {
	p, err := b.piece(e)
	if err != nil {
		return err
	}
	stages, err := stagesOf(told)
	p.Plan(stages, at(e))
	return err
}

// mending notes what stages need that mend a piece which came back; they are in their second pass from the beginning.
func (b *batch) mending(e inbox.Event, told []*eventsv1.StagesPlanned_Stage) error {
	p, err := b.piece(e)
	if err != nil {
		return err
	}
	stages, err := stagesOf(told)
	for n := range stages {
		stages[n].Pass = 2
	}
	p.Plan(stages, e.RecordedAt.AsTime().Truncate(time.Microsecond))
	return err
}

// mended notes which stages are no more, of a piece that came back and was dealt with.
func (b *batch) mended(e inbox.Event, told *eventsv1.ComebackClosed) error {
	p, err := b.piece(e)
	if err != nil {
		return err
	}
	dropped, err := idsOf(told.GetDroppedStageIds())
	p.Drop(dropped)
	return err
}

// amended notes what a new version of the plan makes of the stages.
func (b *batch) amended(e inbox.Event, told *eventsv1.FinishPlanAmended) error {
	p, err := b.piece(e)
	if err != nil {
		return err
	}
	dropped, err := idsOf(told.GetDroppedStageIds())
	if err != nil {
		return err
	}
	added, err := stagesOf(told.GetAdded())
	if err != nil {
		return err
	}
	changed, err := stagesOf(told.GetChanged())
	if err != nil {
		return err
	}
	p.Drop(dropped)
	p.Plan(added, at(e))
	for n, s := range changed {
		if told.GetChanged()[n].GetKey() == "" { // from before more was told than this
			p.Reorder(s.ID, s.After)
		} else {
			p.Plan(changed[n:n+1], at(e))
		}
	}
	return nil
}

// finished notes what is needed no more, and by which method it was put on.
func (b *batch) finished(e inbox.Event, told *eventsv1.StageFinished) error {
	p, err := b.piece(e)
	if err != nil {
		return err
	}
	stage, err := stageID(told.GetStageId())
	if err != nil {
		return err
	}
	if method, took := p.Finish(stage, told.GetPass(), at(e)); took {
		b.methods[method] = true
	}
	return nil
}

// sentBack notes what is needed once more.
func (b *batch) sentBack(e inbox.Event, told *eventsv1.StageSentBack) error {
	p, err := b.piece(e)
	if err != nil {
		return err
	}
	for _, r := range told.GetReopened() {
		stage, err := stageID(r.GetStageId())
		if err != nil {
			return err
		}
		p.SendBack(stage, r.GetPass(), at(e))
	}
	return nil
}

// promised notes until when the piece has to be finished.
func (b *batch) promised(e inbox.Event, told *eventsv1.PiecePromised) error {
	p, err := b.piece(e)
	if err != nil {
		return err
	}
	var until time.Time
	if told.GetPromiseTime() != nil {
		until = told.GetPromiseTime().AsTime().Truncate(time.Microsecond)
	}
	p.Promise(until)
	return nil
}

func stagesOf(told []*eventsv1.StagesPlanned_Stage) ([]materials.PlannedStage, error) {
	stages := make([]materials.PlannedStage, len(told))
	for n, m := range told {
		var err error
		if stages[n], err = stageOf(m); err != nil {
			return nil, fmt.Errorf("stage %s: %w", m.GetStageId(), err)
		}
	}
	return stages, nil
}

func stageOf(m *eventsv1.StagesPlanned_Stage) (s materials.PlannedStage, err error) {
	s = materials.PlannedStage{Title: titleOf(m), Kind: m.GetKind(), Method: m.GetMethod(), Pass: 1,
		Attended: time.Duration(m.GetAttendedMinutes()) * time.Minute, Unattended: time.Duration(m.GetUnattendedMinutes()) * time.Minute}
	if s.ID, err = stageID(m.GetStageId()); err != nil {
		return s, err
	}
	if s.After, err = idsOf(m.GetAfterStageIds()); err != nil {
		return s, err
	}
	if m.GetProductId() != "" {
		if s.Product, err = id.Parse(m.GetProductId()); err != nil {
			return s, fmt.Errorf("product: %w", err)
		}
	}
	if m.GetAmount() == nil {
		return s, nil
	}
	amount, err := wire.Amount("amount", m.GetAmount())
	if err != nil {
		return s, err
	}
	amount = amount.InBase()
	s.Unit, s.Planned = amount.Unit.Symbol, amount.Value
	return s, nil
}

// titleOf is what people call a stage; of one from before that was told, its kind.
func titleOf(m *eventsv1.StagesPlanned_Stage) string {
	switch {
	case m.GetKey() == "":
		return m.GetKind()
	case m.GetPartLabel() == "":
		return m.GetKey()
	}
	return m.GetKey() + " (" + m.GetPartLabel() + ")"
}

func stageID(s string) (id.ID, error) {
	stage, err := id.Parse(s)
	if err != nil {
		return stage, fmt.Errorf("stage: %w", err)
	}
	return stage, nil
}

func idsOf(names []string) ([]id.ID, error) {
	out := make([]id.ID, len(names))
	for n, name := range names {
		var err error
		if out[n], err = stageID(name); err != nil {
			return nil, err
		}
	}
	return out, nil
}
