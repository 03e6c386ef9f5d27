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
	return balances(rows, func(r storedb.JournalSumsRow) ledger.Balance { return balance(r.Account, r.Balance) }), err
}

// lately is how many positions below the last that was drawn the last line is first looked for. Common practice: it is
// more than a batch that was rolled back has drawn, and few blocks of the ledger.
const lately = 50_000

// JournalEnd reads how far the books are: the position at which a month was last closed or opened again, or other
// lines were put in place, and that of the last line, if it is after that one and is that since or after it. What
// was drawn last only says where to look: whoever drew it may not have committed, and what he takes in comes after
// all that can be seen.
func (s Store) JournalEnd(ctx context.Context, since int64) (line, changed int64, err error) {
	marks, err := s.q.GetJournalMarks(ctx)
	if err != nil {
		return 0, 0, err
	}
	if _, err := s.q.PlanForWhatIsAsked(ctx); err != nil {
		return 0, 0, err
	}
	since = max(since, marks.Changed)
	near := max(since, marks.Drawn-lately)
	line, err = s.q.GetLastPosition(ctx, near)
	if err == nil && line == 0 && near > since {
		line, err = s.q.GetLastPosition(ctx, since)
	}
	return line, marks.Changed, err
}

// RemadeAfter reads from which instant on lines are others since a position; false: none is. The zero instant: they
// may be others of any day, for the books were set back to a backup that does not know the position.
func (s Store) RemadeAfter(ctx context.Context, position int64) (since time.Time, some bool, err error) {
	rows, err := s.q.RemadeAfter(ctx, position)
	if err != nil || len(rows) == 0 {
		return since, false, err
	}
	if rows[0] != nil {
		since = *rows[0]
	}
	return since, true, nil
}

// SetBack notes that the books were set back to a backup, unless they are from before positions were; false: they are.
func (s Store) SetBack(ctx context.Context) (noted bool, err error) {
	if noted, err = s.q.HasPositions(ctx); err != nil || !noted {
		return false, err
	}
	return true, s.q.SetBack(ctx)
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
