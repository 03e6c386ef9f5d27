package store

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// InsertLot writes a new lot; its pieces come after it, and then its terms.
func (s Store) InsertLot(ctx context.Context, l intake.Lot) error {
	return s.q.InsertLot(ctx, storedb.InsertLotParams{
		ID: l.ID, Source: l.Source, PurchaseDate: l.Day, OnScrap: string(l.OnScrap), TakenInAt: l.TakenInAt})
}

// AddTerms writes the lot's newest terms.
func (s Store) AddTerms(ctx context.Context, l intake.Lot) error {
	t := l.Now()
	err := s.q.InsertTerms(ctx, storedb.InsertTermsParams{
		LotID: l.ID, Version: l.Version(), Price: int64(t.Price), Split: string(t.Split), Reason: t.Reason, SetAt: t.SetAt})
	if err != nil {
		return err
	}
	rows := storedb.InsertSharesParams{LotID: l.ID, Version: l.Version()}
	for i, share := range t.Shares {
		rows.Positions = append(rows.Positions, int32(i))
		rows.PieceIds = append(rows.PieceIds, share.Piece)
		rows.Weights = append(rows.Weights, share.Weight)
		rows.Shares = append(rows.Shares, int64(share.Amount))
	}
	return s.q.InsertShares(ctx, rows)
}

// SetPrices makes the price of each piece of a lot its share in the terms in force.
func (s Store) SetPrices(ctx context.Context, l intake.Lot) error {
	var now storedb.SetPricesParams
	for _, share := range l.Now().Shares {
		now.Ids, now.Prices = append(now.Ids, share.Piece), append(now.Prices, int64(share.Amount))
	}
	return s.q.SetPrices(ctx, now)
}

// LockLot reads a lot and keeps others from changing it until the transaction ends. The lock is a
// statement before the reading ones, which therefore see what the lock was waited for. Fault:
// LOT_NOT_FOUND.
func (s Store) LockLot(ctx context.Context, lot id.ID) (intake.Lot, error) {
	if err := s.q.LockLot(ctx, lot); err != nil {
		return intake.Lot{}, err
	}
	return s.GetLot(ctx, lot)
}

// GetLot reads a lot, by several statements. Fault: LOT_NOT_FOUND.
func (s Store) GetLot(ctx context.Context, lot id.ID) (intake.Lot, error) {
	rows, err := s.q.GetLot(ctx, lot)
	if err != nil {
		return intake.Lot{}, err
	}
	if len(rows) == 0 {
		return intake.Lot{}, fault.New(fault.NotFound, "LOT_NOT_FOUND", "There is no such lot; look it up in the list of lots.").At("lot")
	}
	lots, err := s.withTerms(ctx, rows)
	if err != nil {
		return intake.Lot{}, err
	}
	return lots[0], nil
}

// ListLots reads up to limit lots with a higher id, by id, which is as they were taken in; by several
// statements.
func (s Store) ListLots(ctx context.Context, after id.ID, limit int32) ([]intake.Lot, error) {
	rows, err := s.q.ListLots(ctx, storedb.ListLotsParams{After: after, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	return s.withTerms(ctx, rows)
}

// withTerms adds their terms to lots, and the shares to these.
func (s Store) withTerms(ctx context.Context, rows []storedb.Lot) ([]intake.Lot, error) {
	lots := make([]intake.Lot, len(rows))
	ids := make([]id.ID, len(rows))
	at := make(map[id.ID]*intake.Lot, len(rows))
	for n, row := range rows {
		lots[n] = intake.Lot{ID: row.ID, Source: row.Source, Day: row.PurchaseDate, OnScrap: intake.OnScrap(row.OnScrap), TakenInAt: row.TakenInAt}
		ids[n], at[row.ID] = row.ID, &lots[n]
	}
	terms, err := s.q.ListTerms(ctx, ids)
	if err != nil {
		return nil, err
	}
	for _, row := range terms {
		l := at[row.LotID]
		l.Terms = append(l.Terms, intake.Terms{Price: money.Amount(row.Price), Split: intake.Split(row.Split), Reason: row.Reason, SetAt: row.SetAt})
	}
	shares, err := s.q.ListShares(ctx, ids)
	if err != nil {
		return nil, err
	}
	for _, row := range shares {
		t := &at[row.LotID].Terms[row.Version-1]
		t.Shares = append(t.Shares, intake.Share{Piece: row.PieceID, Tag: row.Tag, Title: row.Title, State: intake.State(row.State),
			Weight: row.Weight, Amount: money.Amount(row.Share)})
	}
	return lots, nil
}
