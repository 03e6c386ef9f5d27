package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// StretchesAfter reads the stretches of a person, or of everybody (id.Nil), that end after an instant.
func (s Store) StretchesAfter(ctx context.Context, person id.ID, after time.Time) ([]costing.Stretch, error) {
	rows, err := s.q.StretchesAfter(ctx, storedb.StretchesAfterParams{Person: someone(person), After: after})
	list := make([]costing.Stretch, len(rows))
	for i, row := range rows {
		list[i] = fromStretch(row)
	}
	return list, err
}

// LabourWithin reads the stretches that lie in, or reach into, windows of people's time.
func (s Store) LabourWithin(ctx context.Context, windows []costing.Window) ([]costing.Stretch, error) {
	var p storedb.LabourWithinParams
	for _, w := range windows {
		p.People, p.Begins, p.Ends = append(p.People, w.Person), append(p.Begins, w.From), append(p.Ends, w.To)
	}
	rows, err := s.q.LabourWithin(ctx, p)
	list := make([]costing.Stretch, len(rows))
	for i, row := range rows {
		list[i] = fromStretch(row)
	}
	return list, err
}

func fromStretch(row storedb.Stretch) costing.Stretch {
	return costing.Stretch{
		Fact: costing.Fact{ID: row.EventID, Piece: row.PieceID.UUID, OccurredAt: row.OccurredAt, RecordedAt: row.RecordedAt},
		Sign: int64(row.Sign), Entry: row.EntryID, Person: row.PersonID, PersonName: row.PersonName,
		Stage: row.StageID.UUID, StageKind: row.StageKind, StageKey: row.StageKey, PartLabel: row.PartLabel,
		Rework: row.Rework, Indirect: row.Indirect, Start: row.StartedAt, End: row.EndedAt, Whole: orZero(row.WholeFrom), Paused: row.Paused,
	}
}
