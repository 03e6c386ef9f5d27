package store_test

import (
	"context"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// lotOf makes terms of a lot in which a piece counts for 1, the next for 2, and so on.
func lotOf(lot id.ID, version int64, price money.Amount, pieces ...id.ID) costing.LotTerms {
	f := fact(id.Nil)
	t := costing.LotTerms{Fact: f, Lot: lot, Version: version, Price: price, TakesOver: version == 1}
	for i, piece := range pieces {
		t.Shares = append(t.Shares, costing.LotShare{Piece: piece, Weight: int64(i + 1)})
	}
	return t
}

// Why a price was put right is found by any line of the event that did so.
func TestStore_ReasonsOf(t *testing.T) {
	db, piece, f, other := setup(t), id.New(), fact(id.Nil), fact(id.Nil)
	f.Piece = piece
	save(t, db, func(b *costing.Book) {
		b.CorrectPurchase(f, 45_50, 42_00, "the receipt")
		b.TakeIn(other, 1_00)
	})
	same(t, "ReasonsOf", map[id.ID]string{f.ID: "the receipt"}, read(t, db, func(ctx context.Context, st store.Store) (map[id.ID]string, error) {
		return st.ReasonsOf(ctx, []costing.Posted{{Event: f.ID}, {Event: f.ID}, {Event: other.ID}})
	}))
}

// Lots are found by their id and by any of their pieces, each with all of its terms by version and all
// of its pieces in their order.
func TestStore_Lots(t *testing.T) {
	db, a, b := setup(t), id.New(), id.New()
	chairs, tables := []id.ID{id.New(), id.New(), id.New()}, []id.ID{id.New(), id.New()}
	chairs[0], chairs[2] = chairs[2], chairs[0]
	ofChairs := []costing.LotTerms{lotOf(a, 1, money.Max, chairs...), lotOf(a, 2, 0, chairs...)}
	ofTables := []costing.LotTerms{lotOf(b, 1, 80_00, tables...)}
	ofChairs[1].Shares[0].Weight = int64(largest)
	save(t, db, func(b *costing.Book) {
		for _, terms := range []costing.LotTerms{ofChairs[1], ofTables[0], ofChairs[0]} {
			b.AddTerms(terms)
		}
	})
	for name, c := range map[string]struct {
		lots, pieces []id.ID
		want         []costing.LotTerms
	}{
		"ByLot":        {[]id.ID{a}, nil, ofChairs},
		"ByPiece":      {nil, []id.ID{chairs[1]}, ofChairs},
		"ByBoth":       {[]id.ID{a}, []id.ID{tables[1], chairs[0]}, append(append([]costing.LotTerms{}, ofChairs...), ofTables...)},
		"OfNoLot":      {nil, []id.ID{id.New()}, nil},
		"LotNotKnown":  {[]id.ID{id.New()}, nil, nil},
		"OfSeveralOne": {nil, []id.ID{id.New(), tables[0]}, ofTables},
	} {
		t.Run(name, func(t *testing.T) {
			same(t, name, c.want, read(t, db, func(ctx context.Context, st store.Store) ([]costing.LotTerms, error) {
				return st.Lots(ctx, c.lots, c.pieces)
			}))
		})
	}
}
