package store_test

import (
	"context"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// sellSet sells pieces together, each counting for its tag.
func sellSet(ctx context.Context, st store.Store, pieces ...sales.Piece) (sales.Set, error) {
	listings, err := st.LockOrMakeAll(ctx, pieces)
	if err != nil {
		return sales.Set{}, err
	}
	var members []sales.Member
	for i, p := range pieces {
		weight := money.Amount(p.Tag)
		members = append(members, sales.Member{Piece: p, Listing: &listings[i], Weight: &weight})
	}
	set, err := sales.SellSet(sales.Set{ID: id.New(), Buyer: "Ana", Amounts: sales.Amounts{Price: 42_000, Tax: 3_360, Fee: 4_201}, SoldAt: day}, members, wire.NameKey)
	if err != nil {
		return set, err
	}
	if err := st.InsertSet(ctx, set); err != nil {
		return set, err
	}
	for _, l := range listings {
		if err := st.Update(ctx, l); err != nil {
			return set, err
		}
		if err := st.InsertSale(ctx, l); err != nil {
			return set, err
		}
	}
	return set, nil
}

func getSet(t *testing.T, db *pg.DB, set id.ID) (sales.Set, error) {
	t.Helper()
	var s sales.Set
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		s, err = store.New(q).GetSet(t.Context(), set)
		return err
	})
	return s, err
}

// A set is read as it was sold, in its order, with what went back since; and so are the listings.
func TestStore_Sets_RoundTrip(t *testing.T) {
	db := setup(t)
	pieces := []sales.Piece{newPiece(9), newPiece(3), newPiece(7)}
	var want sales.Set
	err := inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
		if _, err := sellSet(ctx, st, newPiece(1), newPiece(2)); err != nil {
			return err
		}
		want, err = sellSet(ctx, st, pieces...)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	back := sales.Refund{ID: id.New(), Sale: want.Parts[1].Sale.ID, Amounts: sales.Amounts{Price: 100, Tax: 8, Fee: 10}, PieceReturned: true, Reason: "too low", RefundedAt: day}
	want.Parts[1].Sale = refund(t, db, back).Sales[0]
	got, err := getSet(t, db, want.ID)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("GetSet (-sold +read):\n%s", diff)
	}
	for i, p := range pieces {
		if l := get(t, db, p.ID); len(l.Sales) != 1 || !cmp.Equal(l.Sales[0], want.Parts[i].Sale) {
			t.Errorf("listing of piece %d = %+v, want the sale %+v", p.Tag, l, want.Parts[i].Sale)
		}
	}
	if _, err := getSet(t, db, id.New()); !fault.Is(err, "SET_NOT_FOUND") {
		t.Errorf("GetSet of no set = %v, want SET_NOT_FOUND", err)
	}
}

// Of two sets that share pieces the second waits at the first piece that both lock, whatever order its
// pieces were named in, and holds none that the first has yet to lock; then it loses.
func TestStore_LockOrMakeAll_InOneOrder(t *testing.T) {
	db := setup(t)
	a, b := newPiece(1), newPiece(2) // ids made later are higher
	done := make(chan error, 1)
	var tries atomic.Int32 // a circle is broken by doing one of them anew
	err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		tries.Add(1)
		if _, err := st.LockOrMake(ctx, a); err != nil {
			return err
		}
		go func() {
			done <- inTx(t, db, func(ctx context.Context, st store.Store) error {
				tries.Add(1)
				_, err := sellSet(ctx, st, b, a)
				return err
			})
		}()
		pgtest.UntilOneWaits(t, db)
		_, err := sellSet(ctx, st, a, b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := <-done; !fault.Is(err, "PIECE_SOLD") || tries.Load() != 2 {
		t.Errorf("the second set = %v after %d tries of both, want PIECE_SOLD after 2", err, tries.Load())
	}
}

// What the domain should have refused of a set, the tables refuse.
func TestStore_Sets_TablesRefuse(t *testing.T) {
	db := setup(t)
	sell(t, db, newPiece(3), newSale())
	if err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		_, err := sellSet(ctx, st, newPiece(1), newPiece(2))
		return err
	}); err != nil {
		t.Fatal(err)
	}
	for constraint, sql := range map[string]string{
		"sale_set_channel_check": `UPDATE sale_set SET channel = ''`,
		"sale_set_price_check":   `UPDATE sale_set SET price = 0, tax = 0, fee = 0`,
		"sale_set_check":         `UPDATE sale_set SET tax = price + 1`,
		"sale_set_check1":        `UPDATE sale_set SET fee = price + 1`,
		"sale_set_id_fkey":       `UPDATE sale SET set_id = gen_random_uuid() WHERE set_id IS NOT NULL`,
		"sale_set_place_check":   `UPDATE sale SET set_place = 0 WHERE set_place = 1`,
		"sale_set_weight_check":  `UPDATE sale SET set_weight = 0 WHERE set_place = 1`,
		"sale_of_set_has_share":  `UPDATE sale SET set_weight = NULL WHERE set_place = 1`,
		"sale_place_in_set":      `UPDATE sale SET set_place = 1 WHERE set_place = 2`,
	} {
		err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := tx.Exec(ctx, sql)
			return err
		})
		if !pg.Violates(err, constraint) {
			t.Errorf("%s = %v, want %s", sql, err, constraint)
		}
	}
}
