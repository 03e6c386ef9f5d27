package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Ended reads the sheets of pieces that were sold in a period and are so still, and of those that were given
// up in it; of the work on them how long each person had, if that is asked for.
func (s Store) Ended(ctx context.Context, p costing.Period, hours bool) ([]costing.Sheet, error) {
	rows, err := s.q.SoldPieces(ctx, storedb.SoldPiecesParams{Begins: p.From, Ends: p.To})
	if err != nil {
		return nil, err
	}
	sheets, err := s.opened(ctx, rows)
	if err != nil {
		return nil, err
	}
	gone, err := s.givenUp(ctx, p)
	if sheets = append(sheets, gone...); err != nil || !hours {
		return sheets, err
	}
	return sheets, s.addHours(ctx, sheets)
}

// givenUp reads the sheets of pieces that were given up in a period and are not sold.
func (s Store) givenUp(ctx context.Context, p costing.Period) ([]costing.Sheet, error) {
	rows, err := s.q.GivenUp(ctx, storedb.GivenUpParams{Begins: p.From, Ends: p.To})
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	ids, at := make([]id.ID, len(rows)), map[id.ID]time.Time{}
	for i, row := range rows {
		ids[i], at[row.PieceID] = row.PieceID, row.GivenUpAt
	}
	sheets, err := s.SheetsOf(ctx, ids)
	for i := range sheets {
		sheets[i].GivenUpAt = at[sheets[i].Piece]
	}
	return sheets, err
}

// LeftByReturns reads how many pieces were returned in a period and are in hand again, and what their sales
// left: fees that were not given back, less what was not refunded.
func (s Store) LeftByReturns(ctx context.Context, p costing.Period) (pieces int32, left money.Amount, err error) {
	row, err := s.q.LeftByReturns(ctx, storedb.LeftByReturnsParams{Begins: p.From, Ends: p.To})
	return row.Pieces, money.Amount(row.Amount), err
}

func (s Store) addHours(ctx context.Context, sheets []costing.Sheet) error {
	ids, at := make([]id.ID, len(sheets)), map[id.ID]*costing.Sheet{}
	for i := range sheets {
		ids[i], at[sheets[i].Piece] = sheets[i].Piece, &sheets[i]
	}
	rows, err := s.q.HoursOf(ctx, ids)
	for _, row := range rows {
		sheet := at[row.PieceID]
		sheet.Work = append(sheet.Work, costing.Work{Person: row.PersonID, PersonName: row.PersonName, Time: time.Duration(row.Ms) * time.Millisecond})
	}
	return err
}

// HandMark is a place in the list of pieces in hand.
type HandMark struct {
	CameAt time.Time // the zero instant: intake has not told of it
	Piece  id.ID
}

// Show is which pieces in hand are shown.
type Show string

// The ways to show them.
const (
	ShowAll        Show = ""
	ShowUnfinished Show = "unfinished"
	ShowFinished   Show = "finished"
)

// InHand reads up to limit pieces in hand after a mark, the oldest first; nil: from the first.
func (s Store) InHand(ctx context.Context, show Show, after *HandMark, limit int32) ([]costing.InHand, error) {
	p := storedb.PiecesInHandParams{Show: string(show), PageLimit: limit}
	if after != nil {
		p.AfterAt, p.AfterID = after.CameAt, after.Piece
		if after.CameAt.IsZero() {
			p.AfterAt = neverCame
		}
	}
	rows, err := s.q.PiecesInHand(ctx, p)
	if err != nil {
		return nil, err
	}
	return s.standing(ctx, rows)
}

// neverCame is where pieces stand in that list of which nobody knows when they came.
var neverCame = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)

// Costliest reads up to limit pieces in hand, those that cost most so far.
func (s Store) Costliest(ctx context.Context, limit int32) ([]costing.InHand, error) {
	rows, err := s.q.CostliestInHand(ctx, limit)
	if err != nil {
		return nil, err
	}
	return s.standing(ctx, rows)
}

// standing adds to the rows how the pieces stand.
func (s Store) standing(ctx context.Context, rows []storedb.Piece) ([]costing.InHand, error) {
	sheets, err := s.opened(ctx, rows)
	if err != nil {
		return nil, err
	}
	out, ids, at := make([]costing.InHand, len(sheets)), make([]id.ID, len(sheets)), map[id.ID]*costing.InHand{}
	for i, sheet := range sheets {
		out[i].Sheet, ids[i], at[sheet.Piece] = sheet, sheet.Piece, &out[i]
	}
	stands, err := s.q.StandOf(ctx, ids)
	for _, row := range stands {
		p := at[row.PieceID]
		p.LastWork, p.Done, p.Stages, p.FinishedAt = row.LastWork.UTC(), row.Done, row.Stages, row.FinishedAt.UTC()
	}
	return out, err
}

// HandSums are all pieces in hand together, and how many of them are how far.
type HandSums struct {
	costing.Sums
	Finished, Unfinished int32
}

// SumInHand adds them up.
func (s Store) SumInHand(ctx context.Context) (HandSums, error) {
	row, err := s.q.SumInHand(ctx)
	return HandSums{Finished: row.Finished, Unfinished: row.Unfinished, Sums: costing.Sums{
		Acquisition: money.Amount(row.Acquisition), Labour: money.Amount(row.Labour), Premium: money.Amount(row.Premium),
		Burden: money.Amount(row.Burden), Overhead: money.Amount(row.Overhead), Material: money.Amount(row.Material),
		Outside: money.Amount(row.Outside), Rework: money.Amount(row.Rework), Fees: money.Amount(row.Fees), Revenue: money.Amount(row.Revenue), Tax: money.Amount(row.Tax),
		LabourTime: time.Duration(row.LabourMs) * time.Millisecond, ReworkTime: time.Duration(row.ReworkMs) * time.Millisecond,
	}}, err
}

// Bought reads the sheets of pieces that were bought and came in in a period, whatever became of them; nothing of who worked
// on them.
func (s Store) Bought(ctx context.Context, p costing.Period) ([]costing.Sheet, error) {
	rows, err := s.q.BoughtPieces(ctx, storedb.BoughtPiecesParams{Begins: p.From, Ends: p.To})
	sheets := make([]costing.Sheet, len(rows))
	for i, row := range rows {
		sheets[i] = fromPiece(row)
	}
	return sheets, err
}
