package consume

import (
	"fmt"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// cameBackFaulty notes that a sold piece is back with a fault.
func (b *batch) cameBackFaulty(f costing.Fact, e *eventsv1.ComebackOpened) error {
	comeback, err := comebackID(e.GetComebackId())
	if err != nil {
		return err
	}
	b.ComeBack(costing.Comeback{ID: comeback, Piece: f.Piece, Warranty: e.GetWarranty(), ReportedAt: e.GetReportTime().AsTime()})
	return nil
}

// mending notes stages that mend it, which are planned from then on, and for which faults.
func (b *batch) mending(f costing.Fact, e *eventsv1.ComebackPlanned) error {
	comeback, err := comebackID(e.GetComebackId())
	if err != nil {
		return err
	}
	if err := b.planned(f, e.GetStages()); err != nil {
		return err
	}
	m := costing.Mending{Fact: f, Comeback: comeback, ReportedAt: e.GetReportTime().AsTime(), Faults: e.GetFaults()}
	for _, s := range e.GetStages() {
		stage, err := id.Parse(s.GetStageId())
		if err != nil {
			return fmt.Errorf("stage: %w", err)
		}
		m.Stages = append(m.Stages, costing.Reopened{Stage: stage, Kind: s.GetKind()})
	}
	b.Mend(m)
	return nil
}

// judged notes where the fault is from.
func (b *batch) judged(e *eventsv1.ComebackJudged) error {
	comeback, err := comebackID(e.GetComebackId())
	if err == nil {
		b.Judged[comeback] = e.GetSource()
	}
	return err
}

// mended notes which stages that were to mend it are no more.
func (b *batch) mended(f costing.Fact, e *eventsv1.ComebackClosed) error {
	return b.planned(f, nil, e.GetDroppedStageIds()...)
}

func comebackID(s string) (id.ID, error) {
	comeback, err := id.Parse(s)
	if err != nil {
		return comeback, fmt.Errorf("come-back: %w", err)
	}
	return comeback, nil
}
