package store

import (
	"context"
	"time"

	"tackfree/pkg/ledger"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// JournalOf is which part of the journal is asked for.
type JournalOf struct {
	costing.Excerpt
	After         int64     // only what was taken in after that position
	RecordedSince time.Time // only what was recorded from then on; zero: whenever
}

// Journal reads up to limit whole transactions after a mark, by time; without lines that move nothing.
func (s Store) Journal(ctx context.Context, of JournalOf, after LineMark, limit int32) ([][]costing.Posted, error) {
	if _, err := s.q.PlanForWhatIsAsked(ctx); err != nil {
		return nil, err
	}
	rows, err := s.q.Journal(ctx, storedb.JournalParams{Begins: of.From, Ends: of.To, RecordedSince: of.RecordedSince, AfterPosition: of.After, UntilPosition: of.Until,
		ButBefore: of.But.Month.To, ButUntil: of.But.Position, AfterAt: after.At, AfterTx: after.Transaction, PageLimit: limit})
	var entries [][]costing.Posted
	for _, row := range rows {
		l := fromPosting(row)
		if n := len(entries); n > 0 && entries[n-1][0].Transaction == l.Transaction {
			entries[n-1] = append(entries[n-1], l)
			continue
		}
		entries = append(entries, []costing.Posted{l})
	}
	return entries, err
}

// JournalSums reads what accounts come to by the lines of an excerpt.
func (s Store) JournalSums(ctx context.Context, e costing.Excerpt) ([]ledger.Balance, error) {
	rows, err := s.q.JournalSums(ctx, storedb.JournalSumsParams{Begins: e.From, Ends: e.To, UntilPosition: e.Until, ButBefore: e.But.Month.To, ButUntil: e.But.Position})
	out := make([]ledger.Balance, len(rows))
	for i, row := range rows {
		out[i] = balance(row.Account, row.Balance)
	}
	return out, err
}

// JournalEnd reads how far the books are: the position of the last line, if it is that since or after it,
// and the one at which a month was last closed or opened again, or a rebuild put other lines in place.
func (s Store) JournalEnd(ctx context.Context, since int64) (line, changed int64, err error) {
	row, err := s.q.GetJournalEnd(ctx, since)
	return row.Line, row.Changed, err
}

// RemadeAfter reads from which instant on lines are others since a position; false: none is.
func (s Store) RemadeAfter(ctx context.Context, position int64) (since time.Time, some bool, err error) {
	rows, err := s.q.RemadeAfter(ctx, position)
	if err != nil || len(rows) == 0 {
		return since, false, err
	}
	return rows[0], true, nil
}

// Cuts reads how far the closes in force have counted.
func (s Store) Cuts(ctx context.Context, zone *time.Location) (costing.Cuts, error) {
	rows, err := s.q.Cuts(ctx)
	all := make([]costing.Cut, len(rows))
	for i, row := range rows {
		all[i] = costing.Cut{Month: costing.MonthOf(row.Month, zone), Position: row.Position}
		all[i].Month.To = row.EndsAt
	}
	return costing.NewCuts(all, zone), err
}
