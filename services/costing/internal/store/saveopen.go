package store

import (
	"context"

	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// saveOutside writes which work of others has no bill yet and which is settled.
func (s Store) saveOutside(ctx context.Context, b *costing.Book) error {
	for _, o := range b.Outside() {
		err := s.q.SaveOutside(ctx, storedb.SaveOutsideParams{OutsideWorkID: o.ID, PieceID: o.Piece, Kind: o.Kind, Firm: o.Firm, Quoted: (*int64)(o.Quoted), Unbilled: o.Unbilled})
		if err != nil {
			return err
		}
	}
	if len(b.SettledOut) == 0 {
		return nil
	}
	return s.q.SettleOutside(ctx, b.SettledOut)
}

// saveReviews writes which reviews were raised and which were settled.
func (s Store) saveReviews(ctx context.Context, b *costing.Book) error {
	for _, r := range b.Reviews() {
		err := s.q.RaiseReview(ctx, storedb.RaiseReviewParams{ReviewID: r.ID, PersonID: r.Person, PersonName: r.PersonName, Since: r.Since})
		if err != nil {
			return err
		}
	}
	if len(b.Settled) == 0 {
		return nil
	}
	return s.q.SettleReviews(ctx, b.Settled)
}
