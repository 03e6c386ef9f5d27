package consume

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// sold notes when a piece was sold, or with the zero time that it came back. A clock that runs on it runs
// on, and none of its stages changes. It is told where the board shows the piece otherwise from then on: it
// has stages left to do, or was never planned.
func (h Handler) sold(ctx context.Context, tx *pg.Tx, e inbox.Event, at time.Time) error {
	st := store.New(tx)
	piece, known, err := st.KnownPiece(ctx, e.Aggregate)
	if err != nil {
		return err
	}
	was := piece
	if piece.SoldAt, err = st.Sell(ctx, e.Aggregate, at); err != nil || !known || piece.Scrapped || piece.Version == 0 || was.Sold() == piece.Sold() {
		return err
	}
	open, err := st.OpenStageCount(ctx, piece.ID)
	if err != nil || piece.Planned && open == 0 {
		return err
	}
	return h.tell(ctx, tx, e, piece, leaves(piece, open))
}

// leaves is the event of a piece that left the floor, or is back on it.
func leaves(p workflow.Piece, open int32) proto.Message {
	if p.Sold() {
		return &eventsv1.PieceLeftFloor{OpenStages: open}
	}
	return &eventsv1.PieceBackOnFloor{OpenStages: open}
}
