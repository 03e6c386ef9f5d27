package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Marks reads what happened to pieces as a whole.
func (s Store) Marks(ctx context.Context, pieces []id.ID) ([]costing.Mark, error) {
	rows, err := s.q.MarksOf(ctx, pieces)
	if err != nil {
		return nil, err
	}
	marks := make([]costing.Mark, len(rows))
	for i, row := range rows {
		marks[i] = costing.Mark{Kind: costing.MarkKind(row.Kind), Fact: costing.Fact{
			ID: row.EventID, Piece: row.PieceID, OccurredAt: row.OccurredAt, RecordedAt: row.RecordedAt}}
	}
	return marks, nil
}

// Costs reads what has gone into pieces, by when.
func (s Store) Costs(ctx context.Context, pieces []id.ID) ([]costing.Cost, error) {
	rows, err := s.q.CostsOf(ctx, pieces)
	if err != nil {
		return nil, err
	}
	costs := make([]costing.Cost, len(rows))
	for i, row := range rows {
		costs[i] = costing.Cost{Piece: row.PieceID, Account: costing.Account(row.Account), OccurredAt: row.OccurredAt, Amount: money.Amount(row.Amount)}
	}
	return costs, nil
}

// Stages reads the plans of pieces.
func (s Store) Stages(ctx context.Context, pieces []id.ID) ([]costing.Stage, error) {
	if len(pieces) == 0 {
		return nil, nil
	}
	rows, err := s.q.StagesOf(ctx, pieces)
	stages := make([]costing.Stage, len(rows))
	for i, row := range rows {
		stages[i] = costing.Stage{ID: row.StageID, Piece: row.PieceID, Kind: row.Kind, Key: row.Key, PartLabel: row.PartLabel,
			Planned: time.Duration(row.PlannedMs) * time.Millisecond, State: costing.StageState(row.State), SentBack: row.SentBack, DoneAt: orZero(row.DoneAt),
			Held: time.Duration(orZero(row.HeldMs)) * time.Millisecond}
	}
	return stages, err
}

// saveStages writes the stages that are new or changed.
func (s Store) saveStages(ctx context.Context, b *costing.Book) error {
	if len(b.Stages) == 0 {
		return nil
	}
	var p storedb.SaveStagesParams
	for _, stage := range b.Planned() {
		p.StageID = append(p.StageID, stage.ID)
		p.PieceID = append(p.PieceID, stage.Piece)
		p.Kind = append(p.Kind, stage.Kind)
		p.Key = append(p.Key, stage.Key)
		p.PartLabel = append(p.PartLabel, stage.PartLabel)
		p.PlannedMs = append(p.PlannedMs, stage.Planned.Milliseconds())
		p.State = append(p.State, string(stage.State))
		p.SentBack = append(p.SentBack, stage.SentBack)
		p.DoneAt = append(p.DoneAt, stage.DoneAt)
		p.HeldMs = append(p.HeldMs, heldOf(stage))
	}
	return s.q.SaveStages(ctx, p)
}

// heldOf is what was planned when the stage was done, in milliseconds; -1: it is not done.
func heldOf(s costing.Stage) int64 {
	if s.State != costing.StageDone {
		return -1
	}
	return s.Held.Milliseconds()
}
