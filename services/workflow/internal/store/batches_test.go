package store_test

import (
	"context"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// batched keeps an open batch of the stripping of two pieces' tops.
func batched(t *testing.T, db *pg.DB, one, other workflow.Plan) workflow.Batch {
	t.Helper()
	b := workflow.Batch{ID: id.New(), Name: "tops", State: workflow.BatchOpen, Split: workflow.ByArea, Kind: "strip", FormedAt: noon, Version: 1}
	for i, p := range []workflow.Plan{one, other} {
		s := p.Stages[stripTop]
		b.Shares = append(b.Shares, workflow.Share{Stage: s.ID, Title: s.Title(), Piece: p.Piece.ID, Tag: p.Piece.Tag, Pass: 1, Weight: int64(300 + i)})
	}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertBatch(ctx, b) })
	for _, p := range []workflow.Plan{one, other} {
		s := p.Stages[stripTop]
		s.Batch = b.ID
		update(t, db, s)
	}
	return b
}

// wantBatch reads a batch in all ways there are.
func wantBatch(t *testing.T, db *pg.DB, want workflow.Batch) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		got, err := st.Batch(ctx, want.ID)
		same(t, "Batch", want, got)
		if err != nil {
			return err
		}
		got, err = st.LockBatch(ctx, want.ID)
		same(t, "LockBatch", want, got)
		if err != nil {
			return err
		}
		got, pieces, err := st.LockBatchWhole(ctx, want.ID)
		same(t, "LockBatchWhole", want, got)
		for _, p := range want.Pieces() {
			if pieces[p].ID != p {
				t.Errorf("LockBatchWhole locked no piece %s", p)
			}
		}
		if err != nil {
			return err
		}
		all, err := st.Batches(ctx, true, id.Nil, 10)
		same(t, "Batches", []workflow.Batch{want}, all)
		return err
	})
}

func TestStore_Batch(t *testing.T) {
	db := setup(t)
	one, other := plan(t, db, 1), plan(t, db, 2)
	b := batched(t, db, one, other)
	wantBatch(t, db, b)

	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.LeaveBatch(ctx, b.ID, b.Shares[0].Stage, after(20))
	})
	b.Shares[0].Left = after(20)
	wantBatch(t, db, b)
	if s := readPlan(t, db, one.Piece.ID).Stages[stripTop]; s.Batch != id.Nil {
		t.Errorf("%s left and is still in %s", s.Title(), s.Batch)
	}
	must(t, db, func(ctx context.Context, st store.Store) error {
		begun, err := st.Begun(ctx, other.Piece.ID)
		if !begun[b.Shares[1].Stage] || len(begun) != 1 {
			t.Errorf("Begun with an open batch = %v", begun)
		}
		return err
	})

	b.State, b.EndedAt, b.Version = workflow.BatchDissolved, after(30), 2
	must(t, db, func(ctx context.Context, st store.Store) error { return st.UpdateBatch(ctx, b) })
	wantBatch(t, db, b)
	if s := readPlan(t, db, other.Piece.ID).Stages[stripTop]; s.Batch != id.Nil {
		t.Errorf("a batch that is no more still has %s", s.Title())
	}
	see(t, db, func(ctx context.Context, st store.Store) error {
		open, err := st.Batches(ctx, false, id.Nil, 10)
		if len(open) != 0 {
			t.Errorf("open batches = %v", open)
		}
		if _, err := st.Batch(ctx, id.New()); !fault.Is(err, "BATCH_NOT_FOUND") {
			t.Errorf("Batch of none = %v", err)
		}
		return err
	})
}

// What one stage of a batch weighed when somebody worked on it is known when it has left.
func TestStore_LeaveBatch_KeepsTheWeight(t *testing.T) {
	db := setup(t)
	nell := hire(t, db, "Nell")
	one, other := plan(t, db, 1), plan(t, db, 2)
	b := batched(t, db, one, other)
	e := stretch(nell, one, stripTop, 0, 10)
	e.Batch, e.Stretch, e.StretchStart, e.StretchEnd = b.ID, e.ID, e.Start, e.End
	clock(t, db, e)
	must(t, db, func(ctx context.Context, st store.Store) error { return st.LeaveBatch(ctx, b.ID, e.Stage, after(20)) })
	if got := readEntry(t, db, e.ID); got.Weight != 300 {
		t.Errorf("weight = %d, want 300", got.Weight)
	}
}

// Whoever forms a batch waits for who is just working on one of its pieces, and then sees what
// that came to.
func TestStore_LockBatchWhole_Waits(t *testing.T) {
	db := setup(t)
	one, other := plan(t, db, 1), plan(t, db, 2)
	b := batched(t, db, one, other)
	err := inTurn(t, db,
		func(ctx context.Context, st store.Store) error { _, err := st.Piece(ctx, other.Piece.ID); return err },
		func(ctx context.Context, st store.Store) error {
			return st.LeaveBatch(ctx, b.ID, b.Shares[1].Stage, after(20))
		},
		func(ctx context.Context, st store.Store) error {
			got, _, err := st.LockBatchWhole(ctx, b.ID)
			if len(got.In()) != 1 {
				t.Errorf("of the batch it saw %v", got.Shares)
			}
			return err
		})
	if err != nil {
		t.Error(err)
	}
}
