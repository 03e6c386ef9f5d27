package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
)

// OnBench is a piece of a client's and the commission it is worked on for, and when that began.
type OnBench struct {
	Commission, Piece id.ID
	BegunAt           time.Time
}

// ApprovedPieces reads the pieces of commissions that were approved and are not at their end; that of one piece, or with
// id.Nil of all.
func (s Store) ApprovedPieces(ctx context.Context, piece id.ID) ([]OnBench, error) {
	rows, err := s.q.ApprovedPieces(ctx, piece)
	out := make([]OnBench, len(rows))
	for i, row := range rows {
		out[i] = OnBench{row.ID, row.PieceID, row.BegunAt}
	}
	return out, err
}
