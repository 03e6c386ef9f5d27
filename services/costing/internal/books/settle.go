package books

import (
	"context"
	"slices"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// settle posts what groups of a kind should come to beyond what is posted of them. The groups'
// lines as they should be are by group; cause says what in the book made each come to it.
func settle(ctx context.Context, st store.Store, b *costing.Book, kind costing.GroupKind, want map[id.ID][]costing.Dated, cause func(id.ID) costing.Cause) error {
	groups := make([]id.ID, 0, len(want))
	for g := range want {
		groups = append(groups, g)
	}
	slices.SortFunc(groups, id.Compare)
	posted, err := st.Posted(ctx, kind, groups)
	if err != nil {
		return err
	}
	for _, g := range groups {
		b.Settle(costing.Group{Kind: kind, ID: g}, cause(g), posted[g], want[g])
	}
	return nil
}

// place moves the cost of the book's pieces to where it stands: those that were finished, sold or
// given up, now or before.
func place(ctx context.Context, st store.Store, b *costing.Book) error {
	marks, err := st.Marks(ctx, b.Touched())
	if err != nil {
		return err
	}
	of := byPiece(append(marks, b.Marks...), func(m costing.Mark) id.ID { return m.Piece })
	if len(of) == 0 {
		return nil
	}
	pieces := make([]id.ID, 0, len(of))
	for piece := range of {
		pieces = append(pieces, piece)
	}
	before, err := st.Costs(ctx, pieces)
	if err != nil {
		return err
	}
	costs := byPiece(append(before, b.Costs()...), func(c costing.Cost) id.ID { return c.Piece })
	want := map[id.ID][]costing.Dated{}
	for piece, marks := range of {
		want[piece] = b.Rules().Stand(piece, costs[piece], marks)
	}
	return settle(ctx, st, b, costing.Place, want, b.Cause)
}

func byPiece[T any](all []T, of func(T) id.ID) map[id.ID][]T {
	out := map[id.ID][]T{}
	for _, t := range all {
		out[of(t)] = append(out[of(t)], t)
	}
	return out
}
