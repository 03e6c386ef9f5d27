package store

import (
	"context"
	"maps"
	"slices"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Lots reads all terms of some lots, and of those that some pieces are of, by version.
func (s Store) Lots(ctx context.Context, lots, pieces []id.ID) (all []costing.LotTerms, err error) {
	rows, err := s.q.LotsOf(ctx, storedb.LotsOfParams{Lots: lots, Pieces: pieces})
	for _, row := range rows {
		if n := len(all); n == 0 || all[n-1].Lot != row.LotID || all[n-1].Version != row.Version {
			all = append(all, costing.LotTerms{Lot: row.LotID, Version: row.Version, Price: money.Amount(row.Price), TakesOver: row.TakesOver,
				Fact: costing.Fact{ID: row.EventID, OccurredAt: row.OccurredAt, RecordedAt: row.RecordedAt}})
		}
		last := &all[len(all)-1]
		last.Shares = append(last.Shares, costing.LotShare{Piece: row.PieceID, Weight: row.Weight})
	}
	return all, err
}

// ReasonsOf reads why the events of some lines put a price right, of those that did.
func (s Store) ReasonsOf(ctx context.Context, lines []costing.Posted) (map[id.ID]string, error) {
	events := make([]id.ID, len(lines))
	for i, l := range lines {
		events[i] = l.Event
	}
	rows, err := s.q.CorrectionsOf(ctx, events)
	reasons := make(map[id.ID]string, len(rows))
	for _, row := range rows {
		reasons[row.EventID] = row.Reason
	}
	return reasons, err
}

// saveReasons writes why prices were put right.
func (s Store) saveReasons(ctx context.Context, b *costing.Book) error {
	for _, event := range slices.SortedFunc(maps.Keys(b.Reasons), id.Compare) {
		if err := s.q.InsertCorrection(ctx, storedb.InsertCorrectionParams{EventID: event, Reason: b.Reasons[event]}); err != nil {
			return err
		}
	}
	return nil
}

// saveLots writes what is said of lots.
func (s Store) saveLots(ctx context.Context, b *costing.Book) error {
	for _, t := range b.Lots {
		err := s.q.InsertLotTerms(ctx, storedb.InsertLotTermsParams{LotID: t.Lot, Version: t.Version, EventID: t.ID, Price: int64(t.Price),
			TakesOver: t.TakesOver, OccurredAt: t.OccurredAt, RecordedAt: t.RecordedAt})
		if err != nil {
			return err
		}
		p := storedb.InsertLotSharesParams{LotID: t.Lot, Version: t.Version}
		for i, share := range t.Shares {
			p.Positions, p.Pieces, p.Weights = append(p.Positions, int32(i)), append(p.Pieces, share.Piece), append(p.Weights, share.Weight)
		}
		if err := s.q.InsertLotShares(ctx, p); err != nil {
			return err
		}
	}
	return nil
}
