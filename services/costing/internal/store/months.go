package store

import (
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Closes reads all closes of months, also those that were taken back, by month and each in its order,
// with their shares and what they have counted; of the first in force also what of that is of earlier months.
func (s Store) Closes(ctx context.Context, zone *time.Location) ([]costing.Close, error) {
	closes, err := s.Settled(ctx, zone)
	if err != nil || len(closes) == 0 {
		return nil, err
	}
	of := map[id.ID]*costing.Close{}
	for i := range closes {
		of[closes[i].ID] = &closes[i]
	}
	shares, err := s.q.MonthShares(ctx)
	if err != nil {
		return nil, err
	}
	for _, row := range shares {
		of[row.CloseID].Shares = append(of[row.CloseID].Shares, costing.Share{Piece: row.PieceID, Again: row.Again, Amount: money.Amount(row.Amount)})
	}
	counted, err := s.q.MonthBalances(ctx)
	if err != nil {
		return nil, err
	}
	for _, row := range counted {
		c := of[row.CloseID]
		c.Counted = append(c.Counted, balance(row.Account, row.Amount))
		c.Late = append(c.Late, balance(row.Account, row.Late))
	}
	return closes, s.earlier(ctx, closes)
}

// LastClosed reads the first day of the last month that is closed; false: none is.
func (s Store) LastClosed(ctx context.Context) (first time.Time, some bool, err error) {
	rows, err := s.q.LastClosedMonth(ctx)
	if err != nil || len(rows) == 0 {
		return first, false, err
	}
	return rows[0], true, nil
}

// Settled reads the same closes without their shares and what they have counted, which may be much.
func (s Store) Settled(ctx context.Context, zone *time.Location) (closes []costing.Close, err error) {
	rows, err := s.q.MonthCloses(ctx)
	for _, row := range rows {
		closes = append(closes, fromClose(row, zone))
	}
	return closes, err
}

func fromClose(row storedb.MonthClosesRow, zone *time.Location) costing.Close {
	month := costing.MonthOf(row.Month, zone)
	month.To = row.EndsAt
	c := costing.Close{ID: row.ID, Month: month, Since: row.Since, Follows: row.Follows.UUID, Settlement: costing.Settlement(row.Settlement),
		WithIndirect: row.WithIndirect, Applied: money.Amount(row.Applied), Actual: money.Amount(row.Actual), Indirect: money.Amount(row.Indirect),
		Actor: row.Actor, At: row.ClosedAt}
	if row.ReopenID.Valid {
		c.Reopened = &costing.Reopening{ID: row.ReopenID.UUID, Reason: row.ReopenReason, Actor: row.ReopenActor, At: *row.ReopenedAt}
	}
	return c
}

// earlier reads what the first close in force has counted of months before its own.
func (s Store) earlier(ctx context.Context, closes []costing.Close) error {
	first := slices.IndexFunc(closes, func(c costing.Close) bool { return c.Reopened == nil })
	if first < 0 || !closes[first].Since.Before(closes[first].Month.First) {
		return nil
	}
	c := &closes[first]
	rows, err := s.q.MonthsBefore(ctx, storedb.MonthsBeforeParams{CloseID: c.ID, Before: c.Month.First})
	for _, row := range rows {
		if n := len(c.Earlier); n == 0 || !c.Earlier[n-1].Day.Equal(row.Month) {
			c.Earlier = append(c.Earlier, costing.Day{Day: row.Month})
		}
		month := &c.Earlier[len(c.Earlier)-1]
		month.Counted = append(month.Counted, balance(row.Account, row.Balance))
	}
	return err
}

func balance(account string, amount int64) ledger.Balance {
	return ledger.Balance{Account: costing.Account(account), Amount: money.Amount(amount)}
}

// balances reads a balance from each row.
func balances[R any](rows []R, of func(R) ledger.Balance) []ledger.Balance {
	out := make([]ledger.Balance, len(rows))
	for i, row := range rows {
		out[i] = of(row)
	}
	return out
}

// DaysBefore reads what a close has counted of its days before one.
func (s Store) DaysBefore(ctx context.Context, closing id.ID, before time.Time) ([]ledger.Balance, error) {
	rows, err := s.q.DaysBefore(ctx, storedb.DaysBeforeParams{CloseID: closing, Before: before})
	return balances(rows, func(r storedb.DaysBeforeRow) ledger.Balance { return balance(r.Account, r.Balance) }), err
}

// OfDay reads what a close has counted of a calendar day.
func (s Store) OfDay(ctx context.Context, closing id.ID, day time.Time) ([]ledger.Balance, error) {
	rows, err := s.q.CountedOfDay(ctx, storedb.CountedOfDayParams{CloseID: closing, Day: day})
	return balances(rows, func(r storedb.CountedOfDayRow) ledger.Balance { return balance(r.Account, r.Amount) }), err
}

// DaySoFar reads what the lines of a day come to, in all and before an instant, in the order in which they were
// recorded.
func (s Store) DaySoFar(ctx context.Context, day costing.Period, before time.Time) ([]costing.SoFar, error) {
	rows, err := s.q.DaySoFar(ctx, storedb.DaySoFarParams{Before: before, Begins: day.From, Ends: day.To})
	out := make([]costing.SoFar, len(rows))
	for i, row := range rows {
		out[i] = costing.SoFar{RecordedAt: row.RecordedAt, Account: costing.Account(row.Account), Day: money.Amount(row.InAll), Before: money.Amount(row.SoFar)}
	}
	return out, err
}

// LabourToldSince reads when the earliest labour began that was recorded since an instant, or from when a pay rule
// holds that was; if none was, it is another instant.
func (s Store) LabourToldSince(ctx context.Context, since, otherwise time.Time) (time.Time, error) {
	return s.q.LabourToldSince(ctx, storedb.LabourToldSinceParams{Since: since, Otherwise: otherwise})
}

// InsertClose writes that a month is closed, what that settled and what it has counted, sealed: what is
// changed of it later no longer fits its seal, and a close that is deleted is missed.
func (s Store) InsertClose(ctx context.Context, c costing.Close) error {
	err := s.q.InsertMonthClose(ctx, storedb.InsertMonthCloseParams{Month: c.Month.First, ID: c.ID, Since: c.Since, EndsAt: c.Month.To,
		Follows: uuid.NullUUID{UUID: c.Follows, Valid: c.Follows != id.Nil}, Settlement: string(c.Settlement), WithIndirect: c.WithIndirect,
		Applied: int64(c.Applied), Actual: int64(c.Actual), Indirect: int64(c.Indirect), Actor: c.Actor, ClosedAt: c.At})
	if err != nil {
		return err
	}
	shares := storedb.InsertMonthSharesParams{CloseID: c.ID}
	for _, share := range c.Shares {
		shares.PieceID, shares.Again, shares.Amount = append(shares.PieceID, share.Piece), append(shares.Again, share.Again), append(shares.Amount, int64(share.Amount))
	}
	if err := s.q.InsertMonthShares(ctx, shares); err != nil {
		return err
	}
	if err := s.insertCounted(ctx, c); err != nil {
		return err
	}
	return s.q.Seal(ctx, storedb.SealParams{Kind: "close", Day: c.Month.First, ID: c.ID})
}

// insertCounted writes what a close has counted, in all and by day.
func (s Store) insertCounted(ctx context.Context, c costing.Close) error {
	all, late := costing.Figures{}.With(c.Counted), costing.Figures{}.With(c.Late)
	for account := range late {
		all[account] += 0 // also what comes to nothing with what is late has a row
	}
	counted := storedb.InsertMonthBalancesParams{CloseID: c.ID}
	for account, amount := range all {
		counted.Account, counted.Amount = append(counted.Account, string(account)), append(counted.Amount, int64(amount))
		counted.Late = append(counted.Late, int64(late[account]))
	}
	if err := s.q.InsertMonthBalances(ctx, counted); err != nil {
		return err
	}
	days := storedb.InsertMonthDaysParams{CloseID: c.ID}
	for _, d := range c.Days {
		for _, b := range d.Counted {
			days.Day, days.Account, days.Amount = append(days.Day, d.Day), append(days.Account, string(b.Account)), append(days.Amount, int64(b.Amount))
		}
	}
	return s.q.InsertMonthDays(ctx, days)
}

// InsertReopening writes that a close was taken back, sealed like the close.
func (s Store) InsertReopening(ctx context.Context, c costing.Close) error {
	r := c.Reopened
	err := s.q.InsertMonthReopen(ctx, storedb.InsertMonthReopenParams{ID: r.ID, CloseID: c.ID, Reason: r.Reason, Actor: r.Actor, ReopenedAt: r.At})
	if err != nil {
		return err
	}
	return s.q.Seal(ctx, storedb.SealParams{Kind: "reopening", Day: c.Month.First, ID: r.ID})
}

// BalancesByPart reads what happened from the first of some instants on, by account: part 1 is before the
// second of them, part 2 between it and the next, and so on. What is before the first is read by
// BalancesBefore, once: of a shop of many years nearly all is.
func (s Store) BalancesByPart(ctx context.Context, instants []time.Time) (map[int][]ledger.Balance, error) {
	rows, err := s.q.BalancesByPart(ctx, storedb.BalancesByPartParams{Instants: instants, Since: instants[0]})
	out := map[int][]ledger.Balance{}
	for _, row := range rows {
		out[int(row.Part)] = append(out[int(row.Part)], balance(row.Account, row.Balance))
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
