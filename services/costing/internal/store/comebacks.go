package store

import (
	"context"
	"maps"
	"slices"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// saveComebacks writes what came back, which stages mend it, and where faults are from.
func (s Store) saveComebacks(ctx context.Context, b *costing.Book) error {
	for _, c := range b.Comebacks {
		err := s.q.InsertComeback(ctx, storedb.InsertComebackParams{ComebackID: c.ID, PieceID: c.Piece, Warranty: c.Warranty, ReportedAt: c.ReportedAt})
		if err != nil {
			return err
		}
	}
	for _, m := range b.Mendings {
		stages := make([]id.ID, len(m.Stages))
		for n, stage := range m.Stages {
			stages[n] = stage.Stage
		}
		if err := s.q.InsertComebackStages(ctx, storedb.InsertComebackStagesParams{ComebackID: m.Comeback, PieceID: m.Piece, Stages: stages}); err != nil {
			return err
		}
	}
	for _, comeback := range slices.SortedFunc(maps.Keys(b.Judged), id.Compare) {
		if err := s.q.JudgeComeback(ctx, storedb.JudgeComebackParams{ComebackID: comeback, Source: b.Judged[comeback]}); err != nil {
			return err
		}
	}
	return nil
}

// comebacks reads what came back of pieces, by each stage that mends it.
func (s Store) comebacks(ctx context.Context, pieces []id.ID) (map[id.ID]costing.Comeback, error) {
	rows, err := s.q.ComebacksOf(ctx, pieces)
	out := map[id.ID]costing.Comeback{}
	for _, row := range rows {
		out[row.StageID] = costing.Comeback{ID: row.ComebackID, Piece: row.PieceID, Warranty: row.Warranty, Source: row.Source, ReportedAt: row.ReportedAt}
	}
	return out, err
}
