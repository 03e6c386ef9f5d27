package store

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// Witness reads who worked on stages of pieces, since when, and in what air; not with which lots.
func (s Store) Witness(ctx context.Context, pieces []id.ID) (w workflow.Witness, err error) {
	w = workflow.Witness{Hands: map[id.ID][]workflow.Hand{}, Began: map[id.ID]time.Time{}, Airs: map[id.ID]*workflow.Air{}, Lots: map[id.ID][]string{}}
	hands, err := s.q.WhoWorked(ctx, pieces)
	if err != nil {
		return w, err
	}
	for _, row := range hands {
		w.Hands[row.StageID] = append(w.Hands[row.StageID], workflow.Hand{Person: row.PersonID, Name: row.DisplayName})
	}
	began, err := s.q.StagesBegan(ctx, pieces)
	if err != nil {
		return w, err
	}
	for _, row := range began {
		w.Began[row.StageID] = row.BeganAt
	}
	return w, s.airs(ctx, pieces, w.Airs)
}

func (s Store) airs(ctx context.Context, pieces []id.ID, airs map[id.ID]*workflow.Air) error {
	rows, err := s.q.AirsOf(ctx, pieces)
	if err != nil {
		return err
	}
	for _, row := range rows {
		air, err := climate.NewAir(row.Celsius, row.Humidity)
		if err != nil {
			return fmt.Errorf("reading before the end of stage %s at %s: %w", row.StageID, row.ReadAt, err)
		}
		airs[row.StageID] = &workflow.Air{At: row.ReadAt, Air: air, Surface: row.Surface}
	}
	return nil
}

// Span is from when to when pieces were sold; zero: open.
type Span struct{ From, To time.Time }

// SoldIn reads the pieces that were sold in a span, each with what was done on it before it came back.
func (s Store) SoldIn(ctx context.Context, span Span) (sold []workflow.SoldPiece, err error) {
	pieces, err := s.q.SoldIn(ctx, storedb.SoldInParams{FromTime: orNull(span.From), ToTime: orNull(span.To)})
	if err != nil {
		return nil, err
	}
	w, err := s.Witness(ctx, pieces)
	if err != nil {
		return nil, err
	}
	rows, err := s.q.DoneStages(ctx, pieces)
	if err != nil {
		return nil, err
	}
	stages := map[id.ID][]workflow.Stage{}
	for _, row := range rows {
		coating, err := fromJSON[workflow.Coating](row.Coating)
		if err != nil {
			return nil, fmt.Errorf("coating of stage %s: %w", row.ID, err)
		}
		stages[row.PieceID] = append(stages[row.PieceID], workflow.Stage{ID: row.ID, Piece: row.PieceID, Kind: row.Kind, Key: row.Key, PartLabel: row.PartLabel, FinishedAt: row.FinishedAt,
			Finish: workflow.Finish{Product: row.ProductID.UUID, ProductName: row.ProductName, Zone: row.ZoneID.UUID, Coating: coating}})
	}
	for _, piece := range pieces {
		sold = append(sold, workflow.SoldPiece{Piece: piece, Stages: stages[piece], Witness: w})
	}
	return sold, nil
}

// ComebacksIn reads what came back of pieces that were sold in a span.
func (s Store) ComebacksIn(ctx context.Context, sold []workflow.SoldPiece, span Span) ([]workflow.Comeback, error) {
	pieces := make([]id.ID, len(sold))
	for i, p := range sold {
		pieces[i] = p.Piece
	}
	ids, err := s.q.ComebacksOfPieces(ctx, storedb.ComebacksOfPiecesParams{Pieces: pieces, FromTime: orNull(span.From), ToTime: orNull(span.To)})
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	return s.comebacks(ctx, storedb.ComebacksParams{Ids: ids, PageLimit: int32(len(ids))})
}
