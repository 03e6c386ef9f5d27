package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/stock"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// OpenNeeds reads what open needs still reserve of some products, or of all if nil, what is
// wanted first before the rest.
func (s Store) OpenNeeds(ctx context.Context, products []id.ID) ([]materials.OpenNeed, error) {
	rows, err := s.q.OpenNeeds(ctx, products)
	if err != nil {
		return nil, err
	}
	needs := make([]materials.OpenNeed, len(rows))
	for n, row := range rows {
		needs[n] = materials.OpenNeed{
			Product: row.ProductID, Piece: row.PieceID, Stage: row.StageID, Pass: row.Pass, Title: row.StageTitle, Kind: row.StageKind,
			Reserved: row.Reserved, Due: due(row.WantedAt, row.SecondsTo, row.LatestAt), NotedAt: row.NotedAt.UTC(),
		}
	}
	return needs, nil
}

func due(wanted time.Time, seconds int64, latest *time.Time) materials.Due {
	return materials.Due{Soonest: wanted.UTC(), Work: time.Duration(seconds) * time.Second, Latest: orZero(latest)}
}

// History reads what was used of some products, or of all if nil, on each of so many days from
// an instant on; the first of them is day 0. What was planned for a stage is ahead of its use by
// whole days since it was noted; waste, and what a count found missing, nobody planned.
func (s Store) History(ctx context.Context, products []id.ID, from time.Time, days int) (map[id.ID][]stock.Used, error) {
	rows, err := s.q.UsedByDay(ctx, storedb.UsedByDayParams{FromAt: from, UntilAt: from.AddDate(0, 0, days), Products: products})
	if err != nil {
		return nil, err
	}
	used := map[id.ID][]stock.Used{}
	for _, row := range rows {
		used[row.ProductID] = append(used[row.ProductID], stock.Used{Day: int(row.Day), Amount: row.Quantity, Ahead: float64(row.Ahead)})
	}
	return used, nil
}
