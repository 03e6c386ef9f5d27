package store

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// InsertPartTest writes a test.
func (s Store) InsertPartTest(ctx context.Context, t workflow.PartTest) error {
	return s.q.InsertPartTest(ctx, storedb.InsertPartTestParams{
		ID: t.ID, PieceID: t.Piece, PartID: nullable(t.Part), PartLabel: t.PartLabel, Kind: string(t.Kind), TestedAt: t.At, Actor: t.Actor,
		Percent: t.Percent, AtRest: t.AtRest, Dry: t.Dry, Solvent: t.Solvent, Result: t.Result, PersonID: nullable(t.Person), Controls: t.Controls})
}

// PartTests reads all tests of a piece, newest first.
func (s Store) PartTests(ctx context.Context, piece id.ID) ([]workflow.PartTest, error) {
	rows, err := s.q.PartTestsOf(ctx, piece)
	if err != nil {
		return nil, err
	}
	tests := make([]workflow.PartTest, len(rows))
	for i, row := range rows {
		tests[i] = workflow.PartTest{ID: row.ID, Piece: row.PieceID, Part: row.PartID.UUID, PartLabel: row.PartLabel, Kind: workflow.TestKind(row.Kind),
			At: row.TestedAt, Actor: row.Actor, Percent: row.Percent, AtRest: row.AtRest, Dry: row.Dry, Solvent: row.Solvent, Result: row.Result,
			Person: row.PersonID.UUID, PersonName: row.PersonName, Controls: row.Controls}
	}
	return tests, nil
}
