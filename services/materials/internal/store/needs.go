package store

import (
	"cmp"
	"context"
	"slices"
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

// Period is so many days from an instant on; the first of them is day 0.
type Period struct {
	From time.Time
	Days int
}

// History reads what was used of some products, or of all if nil, on each day of a period. What
// was planned for a stage is ahead of its use by whole days since it was noted; waste, and what a
// count found missing, nobody planned. What went into a mix is used by then, but for what went into
// some that are mixed, and of which it is known how they are used.
func (s Store) History(ctx context.Context, products, mixed []id.ID, p Period) (map[id.ID][]stock.Used, error) {
	rows, err := s.used(ctx, products, mixed, p)
	if err != nil {
		return nil, err
	}
	used := make(map[id.ID][]stock.Used, len(rows))
	for _, row := range rows {
		used[row.ProductID] = byDay(row)
	}
	return used, nil
}

// used asks for all or for some, each with a plan of its own.
func (s Store) used(ctx context.Context, products, mixed []id.ID, p Period) ([]storedb.UsedOfAllRow, error) {
	until := p.From.AddDate(0, 0, p.Days)
	if products == nil {
		return s.q.UsedOfAll(ctx, storedb.UsedOfAllParams{FromAt: p.From, UntilAt: until, Mixed: mixed})
	}
	some, err := s.q.UsedOfSome(ctx, storedb.UsedOfSomeParams{FromAt: p.From, UntilAt: until, Products: products, Mixed: mixed})
	rows := make([]storedb.UsedOfAllRow, len(some))
	for n, row := range some {
		rows[n] = storedb.UsedOfAllRow(row)
	}
	return rows, err
}

// byDay adds up what was used on a day and known as long before; days on which all came back are
// not among them.
func byDay(row storedb.UsedOfAllRow) []stock.Used {
	all := make([]stock.Used, len(row.Days))
	for n, day := range row.Days {
		all[n] = stock.Used{Day: int(day), Amount: row.Quantities[n], Ahead: float64(row.Ahead[n])}
	}
	slices.SortFunc(all, func(a, b stock.Used) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Ahead, b.Ahead)) })
	var out []stock.Used
	for _, u := range all {
		if n := len(out) - 1; n >= 0 && out[n].Day == u.Day && out[n].Ahead == u.Ahead {
			out[n].Amount += u.Amount
		} else {
			out = append(out, u)
		}
	}
	return slices.DeleteFunc(out, func(u stock.Used) bool { return u.Amount <= 0 })
}
