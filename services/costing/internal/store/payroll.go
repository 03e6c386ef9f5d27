package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// PayLocks reads the weeks that are locked and what each came to, in their order.
func (s Store) PayLocks(ctx context.Context) ([]costing.PayLock, error) {
	rows, err := s.q.PayLocks(ctx)
	if err != nil {
		return nil, err
	}
	locks, at := make([]costing.PayLock, len(rows)), map[time.Time]*costing.PayLock{}
	for i, row := range rows {
		locks[i] = costing.PayLock{Monday: row.Week, At: row.LockedAt, Actor: row.Actor}
		at[row.Week] = &locks[i]
	}
	lines, err := s.q.PayLines(ctx)
	for _, row := range lines {
		at[row.Week].Lines = append(at[row.Week].Lines, fromPayLine(row))
	}
	return locks, err
}

// LockedWeeks reads the Mondays of the weeks that are locked, from one on.
func (s Store) LockedWeeks(ctx context.Context, since time.Time) ([]time.Time, error) {
	return s.q.LockedWeeks(ctx, since)
}

func fromPayLine(row storedb.PayrollLine) costing.PayLine {
	ms := func(n int64) time.Duration { return time.Duration(n) * time.Millisecond }
	return costing.PayLine{Person: row.PersonID, PersonName: row.PersonName, Labour: ms(row.LabourMs), Rework: ms(row.ReworkMs),
		Indirect: ms(row.IndirectMs), Breaks: ms(row.BreaksMs), Rounding: ms(row.RoundingMs), Late: ms(row.LateMs), Overtime: ms(row.OvertimeMs),
		Pay: money.Amount(row.Pay), BreakPay: money.Amount(row.BreakPay), RoundingPay: money.Amount(row.RoundingPay), Premium: money.Amount(row.Premium),
		LatePay: money.Amount(row.LatePay), Burden: money.Amount(row.Burden), RegularPay: money.Amount(row.RegularPay), RegularTime: ms(row.RegularMs)}
}

// InsertPayLock writes that a week is locked, and what it came to, sealed: what is changed of it later no
// longer fits its seal, and a lock that is deleted is missed.
func (s Store) InsertPayLock(ctx context.Context, l costing.PayLock) error {
	if err := s.q.InsertPayLock(ctx, storedb.InsertPayLockParams{Week: l.Monday, LockedAt: l.At, Actor: l.Actor}); err != nil {
		return err
	}
	for _, line := range l.Lines {
		err := s.q.InsertPayLine(ctx, storedb.InsertPayLineParams{Week: l.Monday, PersonID: line.Person, PersonName: line.PersonName,
			LabourMs: line.Labour.Milliseconds(), ReworkMs: line.Rework.Milliseconds(), IndirectMs: line.Indirect.Milliseconds(),
			LateMs: line.Late.Milliseconds(), Pay: int64(line.Pay), BreaksMs: line.Breaks.Milliseconds(), RoundingMs: line.Rounding.Milliseconds(),
			OvertimeMs: line.Overtime.Milliseconds(), BreakPay: int64(line.BreakPay), RoundingPay: int64(line.RoundingPay), Premium: int64(line.Premium),
			LatePay: int64(line.LatePay), Burden: int64(line.Burden), RegularPay: int64(line.RegularPay), RegularMs: line.RegularTime.Milliseconds()})
		if err != nil {
			return err
		}
	}
	return s.q.Seal(ctx, storedb.SealParams{Kind: "payroll week", Day: l.Monday, ID: id.Nil})
}

// Labour reads what everybody worked between two instants, by its end, under the names that
// they have now, and all that prices it. Of a stretch it reads what a payroll needs.
func (s Store) Labour(ctx context.Context, after, before time.Time) ([]costing.Stretch, *costing.Terms, error) {
	rows, err := s.q.StretchesBetween(ctx, storedb.StretchesBetweenParams{After: after, Before: before})
	if err != nil {
		return nil, nil, err
	}
	stretches := make([]costing.Stretch, len(rows))
	seen := map[id.ID]bool{}
	var people []id.ID
	for i, row := range rows {
		stretches[i] = costing.Stretch{Fact: costing.Fact{Piece: row.PieceID.UUID}, Sign: int64(row.Sign), Entry: row.EntryID,
			Person: row.PersonID, PersonName: row.PersonName, Stage: row.StageID.UUID, StageKind: row.StageKind, Rework: row.Rework, Indirect: row.Indirect,
			Start: row.StartedAt, End: row.EndedAt, Whole: orZero(row.WholeFrom), Paused: row.Paused}
		if !seen[row.PersonID] {
			seen[row.PersonID] = true
			people = append(people, row.PersonID)
		}
	}
	terms, err := s.Terms(ctx, people)
	return stretches, terms, err
}

// RunningBefore names those whose clocks began before an instant and still run.
func (s Store) RunningBefore(ctx context.Context, before time.Time) ([]string, error) {
	return s.q.RunningBefore(ctx, before)
}

// ReviewedBefore names those whose time since before an instant waits for the lead.
func (s Store) ReviewedBefore(ctx context.Context, before time.Time) ([]string, error) {
	return s.q.ReviewedBefore(ctx, before)
}

// Behind is what the books lack of a producer's record.
type Behind struct {
	Aggregates int64 // in which the producer is ahead
	Waiting    int64 // events that wait for an earlier one
	Refused    int64 // events that could not be booked
	Restored   bool  // its record is another than the one that was booked
}

// Behind compares the books with a producer's heads, in its log's epoch.
func (s Store) Behind(ctx context.Context, producer, epoch string, heads []inbox.Head) (Behind, error) {
	p := storedb.BehindHeadsParams{Producer: producer, Epoch: epoch}
	for _, h := range heads {
		p.Aggregates, p.Versions = append(p.Aggregates, h.Aggregate), append(p.Versions, h.Version)
	}
	row, err := s.q.BehindHeads(ctx, p)
	return Behind{Aggregates: row.Behind, Waiting: row.Waiting, Refused: row.Refused, Restored: row.Restored}, err
}
