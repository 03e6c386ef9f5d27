package consume_test

import (
	"context"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// What sales says while a piece is back with a fault is noted, and the piece stays on the floor until that is closed.
func TestHandler_SoldWhileItIsBack(t *testing.T) {
	t.Parallel()
	db, piece := floor(t), id.New()
	apply(t, db, takenIn(piece, 1))
	plan(t, db, piece)
	apply(t, db, sold(piece, 1))
	c := workflow.Comeback{ID: id.New(), Piece: piece, SoldAt: monday, ReportedAt: minute(9), Version: 1}
	inTx(t, db, func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).InsertComeback(ctx, c) })
	apply(t, db, refunded(piece, 2, true), sold(piece, 3))
	if got := pieces(t, db)[piece]; got.Sold() {
		t.Errorf("while it is back the piece left the floor at %v", got.SoldAt)
	}
	inTx(t, db, func(ctx context.Context, tx *pg.Tx) error {
		c.Outcome, c.ClosedAt, c.ReturnedAt = workflow.OutcomeDeclined, minute(10), minute(10)
		return store.New(tx).CloseComeback(ctx, c, nil)
	})
	if got := pieces(t, db)[piece]; !got.SoldAt.Equal(minute(3)) {
		t.Errorf("afterwards the piece is sold at %v, want its last sale at %v", got.SoldAt, minute(3))
	}
}
