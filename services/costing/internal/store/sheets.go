package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

var errNoPiece = fault.New(fault.NotFound, "PIECE_NOT_FOUND", "The books know no such piece (yet).").At("piece")

// Sheet reads a piece's cost sheet. It takes more than one statement, as Sheets does, so what
// it reads is whole in a transaction or a snapshot only. Fault: PIECE_NOT_FOUND.
func (s Store) Sheet(ctx context.Context, piece id.ID) (costing.Sheet, error) {
	row, err := s.q.GetPiece(ctx, piece)
	if errors.Is(err, pgx.ErrNoRows) {
		return costing.Sheet{}, errNoPiece
	}
	if err != nil {
		return costing.Sheet{}, err
	}
	sheets, err := s.filled(ctx, []storedb.Piece{row})
	if err != nil {
		return costing.Sheet{}, err
	}
	return sheets[0], nil
}

// Makings is all that a sheet is made of, in small: while it stays the same, the sheet reads
// the same.
type Makings struct {
	Revision         int64     // of the sheet; 0: the piece is unknown
	Refused, Waiting int64     // events of the piece
	Rates, Rules     int64     // how many there are of all people
	Names            int64     // the versions of all people's names
	Doubts           int64     // what makes uncertain what weeks of anybody's come to
	Week             time.Time // the first instant of the one that is not over; zero without a view
}

// Makings reads what a piece's sheet is made of, in one statement that costs little.
func (s Store) Makings(ctx context.Context, piece id.ID) (Makings, error) {
	p := storedb.GetMakingsParams{Piece: piece}
	if s.view != nil {
		p.Before, p.Producer = s.view.before(), s.view.Clocks
	}
	row, err := s.q.GetMakings(ctx, p)
	return Makings{Revision: row.Revision, Refused: row.Refused, Waiting: row.Waiting, Rates: row.Rates, Rules: row.Rules, Names: row.Names,
		Doubts: row.Doubts, Week: p.Before}, err
}

// Mark is a place in the list of sheets.
type Mark struct {
	Tag   int32
	Piece id.ID
}

// Sheets reads up to limit sheets after a mark, by tag.
func (s Store) Sheets(ctx context.Context, after Mark, limit int32) ([]costing.Sheet, error) {
	rows, err := s.q.ListPieces(ctx, storedb.ListPiecesParams{AfterTag: after.Tag, AfterID: after.Piece, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	return s.filled(ctx, rows)
}

// filled adds to the rows who worked on the pieces and what keeps them provisional.
func (s Store) filled(ctx context.Context, rows []storedb.Piece) ([]costing.Sheet, error) {
	sheets := make([]costing.Sheet, len(rows))
	ids := make([]id.ID, len(rows))
	at := make(map[id.ID]*costing.Sheet, len(rows))
	for i, row := range rows {
		sheets[i], ids[i] = fromPiece(row), row.PieceID
		at[row.PieceID] = &sheets[i]
	}
	if err := s.addWork(ctx, ids, at); err != nil {
		return nil, err
	}
	return sheets, s.addOpen(ctx, ids, at)
}

func (s Store) addWork(ctx context.Context, ids []id.ID, at map[id.ID]*costing.Sheet) error {
	rows, err := s.q.WorkOf(ctx, ids)
	for _, row := range rows {
		at[row.PieceID].Work = append(at[row.PieceID].Work, costing.Work{
			Person: row.PersonID, PersonName: row.PersonName,
			Stage: row.StageID, StageKind: row.StageKind, StageKey: row.StageKey, PartLabel: row.PartLabel, Rework: row.Rework,
			Time: time.Duration(row.Ms) * time.Millisecond, Cost: money.Amount(row.Amount)})
	}
	return err
}

func (s Store) addOpen(ctx context.Context, ids []id.ID, at map[id.ID]*costing.Sheet) error {
	unrated, err := s.q.Unrated(ctx, ids)
	if err != nil {
		return err
	}
	for _, row := range unrated {
		at[row.PieceID].Unrated = append(at[row.PieceID].Unrated, costing.Unrated{PersonName: row.PersonName, Since: row.Since})
	}
	if err := s.addOut(ctx, ids, at); err != nil {
		return err
	}
	working, err := s.q.AtWork(ctx, ids)
	if err != nil {
		return err
	}
	for _, row := range working {
		at[row.PieceID].AtWork = row.People
	}
	aside, err := s.q.PutAside(ctx, ids)
	if err != nil {
		return err
	}
	for _, row := range aside {
		at[row.PieceID].Refused, at[row.PieceID].Waiting = row.Refused, row.Waiting
	}
	return s.addWeeks(ctx, ids, at)
}

func (s Store) addOut(ctx context.Context, ids []id.ID, at map[id.ID]*costing.Sheet) error {
	rows, err := s.q.OutsideOf(ctx, ids)
	for _, row := range rows {
		at[row.PieceID].Out = append(at[row.PieceID].Out, costing.OutsideWork{ID: row.OutsideWorkID, Piece: row.PieceID, Kind: row.Kind, Firm: row.Firm,
			Quoted: (*money.Amount)(row.Quoted), Unbilled: row.Unbilled})
	}
	return err
}

func fromPiece(row storedb.Piece) costing.Sheet {
	sheet := costing.Sheet{
		Origin: costing.Origin{Tag: row.Tag, Title: row.Title, Kind: row.Kind, Commission: row.Commission, Source: row.Source, CameAt: orZero(row.CameAt)},
		Piece:  row.PieceID, Sales: costing.SalesState(row.SalesState), Channel: row.Channel, SoldAt: orZero(row.SoldAt), Finish: row.Finish,
		Scrapped: row.Scrapped, Running: row.Running, Revision: row.Revision, UpdatedAt: row.UpdatedAt,
		Sums: costing.Sums{
			Acquisition: money.Amount(row.Acquisition), Labour: money.Amount(row.Labour), Premium: money.Amount(row.Premium),
			Burden: money.Amount(row.Burden), Overhead: money.Amount(row.Overhead), Material: money.Amount(row.Material),
			Outside: money.Amount(row.Outside), Rework: money.Amount(row.Rework), Fees: money.Amount(row.Fees), Revenue: money.Amount(row.Revenue), Tax: money.Amount(row.Tax),
			LabourTime: time.Duration(row.LabourMs) * time.Millisecond, ReworkTime: time.Duration(row.ReworkMs) * time.Millisecond,
		},
	}
	if sheet.Sales == "" {
		sheet.Sales = costing.NotListed
	}
	return sheet
}

// Total sums all pieces up.
func (s Store) Total(ctx context.Context) (costing.Sums, error) {
	row, err := s.q.SumPieces(ctx)
	return costing.Sums{
		Acquisition: money.Amount(row.Acquisition), Labour: money.Amount(row.Labour), Premium: money.Amount(row.Premium),
		Burden: money.Amount(row.Burden), Overhead: money.Amount(row.Overhead), Material: money.Amount(row.Material),
		Outside: money.Amount(row.Outside), Rework: money.Amount(row.Rework), Fees: money.Amount(row.Fees), Revenue: money.Amount(row.Revenue), Tax: money.Amount(row.Tax),
		LabourTime: time.Duration(row.LabourMs) * time.Millisecond, ReworkTime: time.Duration(row.ReworkMs) * time.Millisecond,
	}, err
}
