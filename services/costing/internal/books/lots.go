package books

import (
	"context"
	"slices"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// lots settles what the pieces bear that were bought together, where the book says something of
// their lot, or where one of them is sold, given up or here again.
func lots(ctx context.Context, st store.Store, b *costing.Book) error {
	moved, named := b.LotPieces()
	if len(moved)+len(named) == 0 {
		return nil
	}
	terms, err := st.Lots(ctx, named, moved)
	if err != nil || len(terms)+len(b.Lots) == 0 {
		return err
	}
	marks, err := st.Marks(ctx, piecesOf(slices.Concat(terms, b.Lots)))
	if err != nil {
		return err
	}
	want, causes := b.SettleLots(terms, marks)
	return settle(ctx, st, b, costing.JointCost, want, func(lot id.ID) costing.Cause { return causes[lot] })
}

// piecesOf lists the pieces of lots.
func piecesOf(terms []costing.LotTerms) (all []id.ID) {
	for _, t := range terms {
		for _, s := range t.Shares {
			if t.Version == 1 {
				all = append(all, s.Piece)
			}
		}
	}
	return all
}
