package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Used reads what was issued, mixed or wasted from one instant up to another, less what came
// back of it whenever that was, and what counts found missing.
func (s Store) Used(ctx context.Context, from, to time.Time) ([]materials.Used, error) {
	rows, err := s.q.UsedBetween(ctx, storedb.UsedBetweenParams{FromAt: from, ToAt: to})
	used := make([]materials.Used, len(rows))
	for n, row := range rows {
		used[n] = materials.Used{Product: row.ID, ProductName: row.DisplayName, Unit: row.Unit, Category: row.AboutCategory, Coating: row.SheetFamily != "",
			Quantity: row.Quantity, Missing: row.Missing, VOC: fromFloat(row.AboutVocGramsPerLitre), Density: row.AboutDensityGramsPerMl}
		if sheet := row.SheetVocGramsPerLitre; used[n].VOC == nil && sheet > 0 {
			used[n].VOC = &sheet
		}
	}
	return used, err
}

// WasteKey is a place in the order of waste, the newest first.
type WasteKey struct {
	At time.Time
	ID id.ID
}

// Waste reads up to limit of what was wasted in a period, newest first, before a place in that
// order; only of a cause, unless that is empty.
func (s Store) Waste(ctx context.Context, in materials.Period, cause materials.Cause, before WasteKey, limit int32) ([]materials.Waste, error) {
	rows, err := s.q.ListWaste(ctx, storedb.ListWasteParams{
		BeforeAt: before.At, BeforeID: before.ID, Cause: string(cause), FromAt: unlessZero(in.From), ToAt: unlessZero(in.To), PageLimit: limit})
	waste := make([]materials.Waste, len(rows))
	for n, row := range rows {
		waste[n] = materials.Waste{ID: row.ID, Product: row.ProductID, ProductName: row.DisplayName, Unit: row.Unit, Quantity: row.Quantity, Cost: money.Amount(row.Cost),
			Cause: materials.Cause(row.Cause), Stage: materials.Stage{ID: row.StageID.UUID, Piece: row.PieceID.UUID, Kind: row.StageKind, Pass: row.Pass},
			At: row.At.UTC(), Note: row.Reason, Actor: row.Actor}
	}
	return waste, err
}
