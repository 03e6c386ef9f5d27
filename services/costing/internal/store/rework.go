package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// saveSentBack writes what was sent back, and what inspections found that did so.
func (s Store) saveSentBack(ctx context.Context, b *costing.Book) error {
	for _, back := range b.SentBacks {
		p := storedb.InsertSentBackParams{EventID: back.ID, PieceID: back.Piece, BecauseOf: back.BecauseOf, OccurredAt: back.OccurredAt, RecordedAt: back.RecordedAt}
		for _, r := range back.Stages {
			p.Stages, p.Kinds = append(p.Stages, r.Stage), append(p.Kinds, r.Kind)
		}
		if err := s.q.InsertSentBack(ctx, p); err != nil {
			return err
		}
	}
	for _, i := range b.Inspections {
		err := s.q.InsertInspection(ctx, storedb.InsertInspectionParams{EventID: i.ID, PieceID: i.Piece, SentBack: i.BackTo, Defects: orEmpty(i.Defects), RecordedAt: i.RecordedAt})
		if err != nil {
			return err
		}
	}
	return nil
}

// orEmpty is no null to the database.
func orEmpty(texts []string) []string {
	if texts == nil {
		return []string{}
	}
	return texts
}

// Reworked reads all that is known of what was done again in a period; hands only if they are asked for.
func (s Store) Reworked(ctx context.Context, p costing.Period, hands bool) (w costing.Reworked, err error) {
	if w.Spent, err = s.spentAgain(ctx, p); err != nil {
		return w, err
	}
	pieces := piecesOf(w.Spent)
	if w.Passes, err = s.passes(ctx, pieces); err != nil {
		return w, err
	}
	if w.Comebacks, err = s.comebacks(ctx, pieces); err != nil {
		return w, err
	}
	rows, err := s.q.PiecesOf(ctx, pieces)
	if err != nil {
		return w, err
	}
	w.Pieces = map[id.ID]costing.Origin{}
	for _, row := range rows {
		w.Pieces[row.PieceID] = costing.Origin{Tag: row.Tag, Title: row.Title}
	}
	if hands {
		w.Hands, err = s.firstHands(ctx, pieces)
	}
	return w, err
}

// spentAgain reads what was spent and worked.
func (s Store) spentAgain(ctx context.Context, p costing.Period) (out []costing.SpentAgain, err error) {
	spent, err := s.q.SpentAgain(ctx, storedb.SpentAgainParams{Begins: p.From, Ends: p.To})
	if err != nil {
		return nil, err
	}
	for _, row := range spent {
		out = append(out, costing.SpentAgain{Piece: row.PieceID, Stage: row.StageID, StageKind: row.StageKind, Group: costing.GroupKind(row.GroupKind),
			Account: costing.Account(row.Account), OccurredAt: row.OccurredAt, WorkedAt: row.WorkedAt, Amount: money.Amount(row.Amount)})
	}
	worked, err := s.q.WorkedAgain(ctx, storedb.WorkedAgainParams{Begins: p.From, Ends: p.To})
	for _, row := range worked {
		out = append(out, costing.SpentAgain{Piece: row.PieceID, Stage: row.StageID, StageKind: row.StageKind, OccurredAt: row.OccurredAt, WorkedAt: row.WorkedAt,
			Time: time.Duration(row.Ms) * time.Millisecond})
	}
	return out, err
}

func piecesOf(spent []costing.SpentAgain) (pieces []id.ID) {
	seen := map[id.ID]bool{}
	for _, s := range spent {
		if !seen[s.Piece] {
			seen[s.Piece] = true
			pieces = append(pieces, s.Piece)
		}
	}
	return pieces
}

func (s Store) passes(ctx context.Context, pieces []id.ID) (map[id.ID][]costing.Pass, error) {
	rows, err := s.q.SentBackOf(ctx, pieces)
	out := map[id.ID][]costing.Pass{}
	for _, row := range rows {
		out[row.PieceID] = append(out[row.PieceID], costing.Pass{ID: row.EventID, Stage: row.StageID, Kind: row.StageKind, At: row.OccurredAt, Defects: row.Defects})
	}
	return out, err
}

func (s Store) firstHands(ctx context.Context, pieces []id.ID) (map[id.ID][]costing.Hand, error) {
	rows, err := s.q.FirstHands(ctx, pieces)
	out := map[id.ID][]costing.Hand{}
	for _, row := range rows {
		out[row.PieceID] = append(out[row.PieceID], costing.Hand{Stage: row.StageID, StageKind: row.StageKind, Person: row.PersonID, Name: row.PersonName,
			Time: time.Duration(row.Ms) * time.Millisecond})
	}
	return out, err
}
