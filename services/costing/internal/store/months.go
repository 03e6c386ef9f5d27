package store

import (
	"context"
	"time"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Closes reads the months that are closed, in their order, with their shares and what they have counted.
func (s Store) Closes(ctx context.Context, zone *time.Location) ([]costing.Close, error) {
	rows, err := s.q.MonthCloses(ctx)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	closes, at := make([]costing.Close, len(rows)), map[time.Time]*costing.Close{}
	for i, row := range rows {
		month := costing.MonthOf(row.Month, zone)
		month.To = row.EndsAt
		closes[i] = costing.Close{ID: row.ID, Month: month, Settlement: costing.Settlement(row.Settlement), WithIndirect: row.WithIndirect,
			Applied: money.Amount(row.Applied), Actual: money.Amount(row.Actual), Indirect: money.Amount(row.Indirect), Late: money.Amount(row.Late),
			Actor: row.Actor, At: row.ClosedAt}
		at[row.Month] = &closes[i]
	}
	shares, err := s.q.MonthShares(ctx)
	if err != nil {
		return nil, err
	}
	for _, row := range shares {
		at[row.Month].Shares = append(at[row.Month].Shares, costing.Share{Piece: row.PieceID, Again: row.Again, Amount: money.Amount(row.Amount)})
	}
	counted, err := s.q.MonthBalances(ctx)
	for _, row := range counted {
		at[row.Month].Counted = append(at[row.Month].Counted, ledger.Balance{Account: costing.Account(row.Account), Amount: money.Amount(row.Amount)})
	}
	return closes, err
}

// InsertClose writes that a month is closed, what that settled and what it has counted.
func (s Store) InsertClose(ctx context.Context, c costing.Close) error {
	err := s.q.InsertMonthClose(ctx, storedb.InsertMonthCloseParams{Month: c.Month.First, ID: c.ID, EndsAt: c.Month.To, Settlement: string(c.Settlement),
		WithIndirect: c.WithIndirect, Applied: int64(c.Applied), Actual: int64(c.Actual), Indirect: int64(c.Indirect), Late: int64(c.Late),
		Actor: c.Actor, ClosedAt: c.At})
	if err != nil {
		return err
	}
	shares := storedb.InsertMonthSharesParams{Month: c.Month.First}
	for _, share := range c.Shares {
		shares.PieceID, shares.Again, shares.Amount = append(shares.PieceID, share.Piece), append(shares.Again, share.Again), append(shares.Amount, int64(share.Amount))
	}
	if err := s.q.InsertMonthShares(ctx, shares); err != nil {
		return err
	}
	counted := storedb.InsertMonthBalancesParams{Month: c.Month.First}
	for _, b := range c.Counted {
		counted.Account, counted.Amount = append(counted.Account, string(b.Account)), append(counted.Amount, int64(b.Amount))
	}
	return s.q.InsertMonthBalances(ctx, counted)
}

// BalancesByPart reads what happened between instants, by account: part 0 is before the first of them,
// part 1 between it and the next, and so on.
func (s Store) BalancesByPart(ctx context.Context, instants []time.Time) (map[int][]ledger.Balance, error) {
	rows, err := s.q.BalancesByPart(ctx, instants)
	out := map[int][]ledger.Balance{}
	for _, row := range rows {
		out[int(row.Part)] = append(out[int(row.Part)], ledger.Balance{Account: costing.Account(row.Account), Amount: money.Amount(row.Balance)})
	}
	return out, err
}

// BalancesBetween reads what happened from an instant up to but not at another, by account.
func (s Store) BalancesBetween(ctx context.Context, since, before time.Time) ([]ledger.Balance, error) {
	rows, err := s.q.BalancesBetween(ctx, storedb.BalancesBetweenParams{Since: since, Before: before})
	out := make([]ledger.Balance, len(rows))
	for i, row := range rows {
		out[i] = ledger.Balance{Account: costing.Account(row.Account), Amount: money.Amount(row.Balance)}
	}
	return out, err
}

// Carried reads the overhead that pieces carried between two instants.
func (s Store) Carried(ctx context.Context, since, before time.Time) ([]costing.Carried, error) {
	rows, err := s.q.CarriedBetween(ctx, storedb.CarriedBetweenParams{Since: since, Before: before})
	out := make([]costing.Carried, len(rows))
	for i, row := range rows {
		out[i] = costing.Carried{Piece: row.PieceID, First: money.Amount(row.First), Again: money.Amount(row.Later)}
	}
	return out, err
}
