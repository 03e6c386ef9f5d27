package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// LineMark is a place in a list of ledger lines.
type LineMark struct {
	At          time.Time
	Transaction id.ID
	Line        int16
}

// MarkOf is the place of a line.
func MarkOf(l costing.Posted) LineMark { return LineMark{l.OccurredAt, l.Transaction, l.Number} }

// Known refuses a piece that the books do not know. Fault: PIECE_NOT_FOUND.
func (s Store) Known(ctx context.Context, piece id.ID) error {
	rows, err := s.q.PiecesOf(ctx, []id.ID{piece})
	if err == nil && len(rows) == 0 {
		return errNoPiece
	}
	return err
}

// LinesOfPiece reads up to limit lines of a piece after a mark, by time: those of its cost sheet, or all.
func (s Store) LinesOfPiece(ctx context.Context, piece id.ID, all bool, after LineMark, limit int32) ([]costing.Posted, error) {
	rows, err := s.q.LinesOfPiece(ctx, storedb.LinesOfPieceParams{Piece: piece, Every: all, AfterAt: after.At, AfterTx: after.Transaction, AfterLine: after.Line, PageLimit: limit})
	lines := make([]costing.Posted, len(rows))
	for i, row := range rows {
		lines[i] = fromPosting(storedb.JournalRow(row))
	}
	return lines, err
}

// LinesOfEvent reads up to limit lines that an event brought about after a mark, by time. It looks at
// the whole ledger, which has no index by event: that is asked now and then, and written always.
func (s Store) LinesOfEvent(ctx context.Context, event id.ID, after LineMark, limit int32) ([]costing.Posted, error) {
	rows, err := s.q.LinesOfEvent(ctx, storedb.LinesOfEventParams{Event: event, AfterAt: after.At, AfterTx: after.Transaction, AfterLine: after.Line, PageLimit: limit})
	lines := make([]costing.Posted, len(rows))
	for i, row := range rows {
		lines[i] = fromPosting(storedb.JournalRow(row))
	}
	return lines, err
}

func fromPosting(row storedb.JournalRow) costing.Posted {
	return costing.Posted{
		Line: costing.Line{Account: costing.Account(row.Account), Bucket: costing.Bucket(row.Bucket), Piece: row.PieceID.UUID, Person: row.PersonID.UUID,
			Stage: row.StageID.UUID, StageKind: row.StageKind, Again: row.Again, Amount: money.Amount(row.Amount)},
		Transaction: row.TxID, Number: row.Line, Event: row.EventID, Group: costing.Group{Kind: costing.GroupKind(row.GroupKind), ID: row.GroupID.UUID},
		OccurredAt: row.OccurredAt, RecordedAt: row.RecordedAt, Position: row.Position, Tag: row.Tag, PersonName: row.PersonName, StageKey: row.StageKey, PartLabel: row.PartLabel,
	}
}

// SpentBy reads of overhead that was entered with some lines what was said of it.
func (s Store) SpentBy(ctx context.Context, lines []costing.Posted) ([]costing.OverheadActual, error) {
	entered := make([]id.ID, len(lines))
	for i, l := range lines {
		entered[i] = l.Transaction
	}
	rows, err := s.q.OverheadActualsOf(ctx, entered)
	spent := make([]costing.OverheadActual, len(rows))
	for i, row := range rows {
		spent[i] = costing.OverheadActual{ID: row.ID, What: row.What, Note: row.Note, TakesBack: row.TakesBack.UUID, Reason: row.Reason}
	}
	return spent, err
}

// Told reads what says in words what lines are: all sides of their transactions, and the labour that
// their events told of.
func (s Store) Told(ctx context.Context, lines []costing.Posted) (sides []costing.Posted, labour []costing.Stretch, err error) {
	var transactions, events []id.ID
	for _, l := range lines {
		transactions, events = append(transactions, l.Transaction), append(events, l.Event)
	}
	rows, err := s.q.SidesOf(ctx, transactions)
	if err != nil {
		return nil, nil, err
	}
	for _, row := range rows {
		sides = append(sides, costing.Posted{Transaction: row.TxID, Number: row.Line,
			Line: costing.Line{Account: costing.Account(row.Account), Bucket: costing.Bucket(row.Bucket), Amount: money.Amount(row.Amount)}})
	}
	stretches, err := s.q.StretchesOf(ctx, events)
	for _, row := range stretches {
		labour = append(labour, costing.Stretch{Fact: costing.Fact{ID: row.EventID}, Sign: int64(row.Sign), Entry: row.EntryID, PersonName: row.PersonName,
			StageKey: row.StageKey, PartLabel: row.PartLabel, Start: row.StartedAt, End: row.EndedAt})
	}
	return sides, labour, err
}

// Moved is what a line of the cost sheets, or none, of an account came to.
type Moved struct {
	ledger.Balance
	Bucket  costing.Bucket
	OfPiece bool
}

// Within reads what accounts came to by what happened in a period, apart by line of the cost sheet.
func (s Store) Within(ctx context.Context, p costing.Period) ([]Moved, error) {
	rows, err := s.q.Within(ctx, storedb.WithinParams{Begins: p.From, Ends: p.To})
	out := make([]Moved, len(rows))
	for i, row := range rows {
		out[i] = Moved{ledger.Balance{Account: costing.Account(row.Account), Amount: money.Amount(row.Amount)}, costing.Bucket(row.Bucket), row.OfPiece}
	}
	return out, err
}

// Counts are how many pieces are how far.
type Counts storedb.CountPiecesRow

// Counts counts pieces.
func (s Store) Counts(ctx context.Context) (Counts, error) {
	row, err := s.q.CountPieces(ctx)
	return Counts(row), err
}

// MaybeOpen reads the sheets, without the work on them, of all pieces that might not be final.
func (s Store) MaybeOpen(ctx context.Context) ([]costing.Sheet, error) {
	pieces, err := s.q.MaybeOpen(ctx)
	if err != nil {
		return nil, err
	}
	within, err := s.within(ctx)
	if err != nil {
		return nil, err
	}
	return s.SheetsOf(ctx, append(pieces, within...))
}

// SheetsOf reads the sheets of pieces by id, without the work on them.
func (s Store) SheetsOf(ctx context.Context, pieces []id.ID) ([]costing.Sheet, error) {
	rows, err := s.q.PiecesOf(ctx, pieces)
	if err != nil {
		return nil, err
	}
	return s.opened(ctx, rows)
}

// opened adds to the rows what keeps the pieces provisional.
func (s Store) opened(ctx context.Context, rows []storedb.Piece) ([]costing.Sheet, error) {
	sheets, ids, at := make([]costing.Sheet, len(rows)), make([]id.ID, len(rows)), make(map[id.ID]*costing.Sheet, len(rows))
	for i, row := range rows {
		sheets[i], ids[i] = fromPiece(row), row.PieceID
		at[row.PieceID] = &sheets[i]
	}
	return sheets, s.addOpen(ctx, ids, at)
}

// ShopMakings is all that the state of the shop is made of, in small.
type ShopMakings storedb.GetShopMakingsRow

// ShopMakings reads it.
func (s Store) ShopMakings(ctx context.Context) (ShopMakings, error) {
	row, err := s.q.GetShopMakings(ctx)
	return ShopMakings(row), err
}
