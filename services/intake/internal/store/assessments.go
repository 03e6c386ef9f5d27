package store

import (
	"context"
	"encoding/json"
	"fmt"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// Assessments reads every part of a piece, in its order, with what was seen of it. Who changes one has the piece locked.
func (s Store) Assessments(ctx context.Context, p intake.Piece) ([]intake.Assessment, error) {
	rows, err := s.q.ListAssessments(ctx, p.ID)
	if err != nil {
		return nil, err
	}
	seen := map[id.ID]storedb.PartAssessment{}
	for _, row := range rows {
		seen[row.PartAssessment.PartID] = row.PartAssessment
	}
	out := make([]intake.Assessment, len(p.Parts))
	for i, part := range p.Parts {
		out[i].Part = part
		if row, looked := seen[part.ID]; looked {
			if err := fromAssessmentRow(row, &out[i]); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

func fromAssessmentRow(row storedb.PartAssessment, a *intake.Assessment) error {
	seen := intake.Seen{Material: finish.Material(row.Material), Species: row.Species, OldFinish: finish.Family(row.OldFinish), Waxed: row.Waxed, OldStain: row.OldStain,
		PaintedIn: int(row.PaintedIn), Decade: row.Decade, Condition: intake.Condition(row.Condition), Note: row.Note}
	if err := json.Unmarshal(row.Defects, &seen.Defects); err != nil {
		return fmt.Errorf("defects of part %s: %w", row.PartID, err)
	}
	var err error
	seen.Veneer, err = measured(row.Veneer, row.VeneerUnit)
	a.Seen, a.By, a.At, a.Version = &seen, row.AssessedBy, row.AssessedAt, row.Version
	return err
}

// SaveAssessment writes what was seen of a part, in the place of what was said before.
func (s Store) SaveAssessment(ctx context.Context, a intake.Assessment) error {
	defects := a.Seen.Defects
	if defects == nil {
		defects = []intake.PartDefect{}
	}
	b, err := json.Marshal(defects)
	if err != nil {
		return err
	}
	seen := a.Seen
	return s.q.SaveAssessment(ctx, storedb.SaveAssessmentParams{PartID: a.Part.ID, Material: string(seen.Material), Species: seen.Species,
		Veneer: seen.Veneer.Value, VeneerUnit: seen.Veneer.Unit.Symbol, OldFinish: string(seen.OldFinish), Waxed: seen.Waxed, OldStain: seen.OldStain,
		PaintedIn: int32(seen.PaintedIn), Decade: seen.Decade, Condition: string(seen.Condition), Defects: b, Note: seen.Note,
		AssessedBy: a.By, AssessedAt: a.At, Version: a.Version})
}
