package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/boot"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var (
	usd = money.Currency{Code: "USD", Digits: 2}
	day = time.Date(2026, 3, 2, 15, 4, 5, 678_000_000, time.UTC)
)

func setup(t *testing.T) *pg.DB {
	t.Helper()
	return pgtest.Open(t, "sales", store.Constraints, boot.Migrations(store.Migrations))
}

func inTx(t *testing.T, db *pg.DB, fn func(ctx context.Context, st store.Store) error) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return fn(ctx, store.New(tx)) })
}

func get(t *testing.T, db *pg.DB, piece id.ID) sales.Listing {
	t.Helper()
	var l sales.Listing
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		l, err = store.New(q).Get(t.Context(), piece)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// sell sells a piece and returns its listing.
func sell(t *testing.T, db *pg.DB, p sales.Piece, s sales.Sale) sales.Listing {
	t.Helper()
	var l sales.Listing
	err := inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
		if l, err = st.LockOrMake(ctx, p); err != nil {
			return err
		}
		if _, err = l.Sell(p, s); err != nil {
			return err
		}
		if err := st.Update(ctx, l); err != nil {
			return err
		}
		return st.InsertSale(ctx, l)
	})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// refund refunds a sale and returns its listing.
func refund(t *testing.T, db *pg.DB, r sales.Refund) sales.Listing {
	t.Helper()
	var l sales.Listing
	err := inTx(t, db, func(ctx context.Context, st store.Store) (err error) {
		if l, err = st.LockOfSale(ctx, r.Sale); err != nil {
			return err
		}
		sale, err := l.Refund(r, usd)
		if err != nil {
			return err
		}
		if err := st.Update(ctx, l); err != nil {
			return err
		}
		return st.InsertRefund(ctx, r, sale)
	})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func newPiece(tag int32) sales.Piece { return sales.Piece{ID: id.New(), Tag: tag} }

func newSale() sales.Sale {
	return sales.Sale{ID: id.New(), Channel: "auction", Buyer: "Ana", Amounts: sales.Amounts{Price: 24000, Tax: 1920, Fee: 2400}, SoldAt: day}
}

func TestStore_RoundTrip(t *testing.T) {
	db := setup(t)
	p := newPiece(7)
	first, second := newSale(), newSale()
	second.SoldAt = day.Add(-time.Hour) // dated back; it stays the second
	sell(t, db, p, first)
	refund(t, db, sales.Refund{ID: id.New(), Sale: first.ID, Amounts: sales.Amounts{Price: 4000, Tax: 320, Fee: 1}, Reason: "scratch", RefundedAt: day})
	refund(t, db, sales.Refund{ID: id.New(), Sale: first.ID, PieceReturned: true, Reason: "too wide", RefundedAt: day})
	sell(t, db, p, second)
	want := refund(t, db, sales.Refund{ID: id.New(), Sale: first.ID, Amounts: sales.Amounts{Price: 20000}, Reason: "the rest", RefundedAt: day})
	got := get(t, db, p.ID)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("Get (-written +read):\n%s", diff)
	}
	if len(got.Sales) != 2 || got.Sales[0].ID != first.ID || got.Version != 5 {
		t.Errorf("sales %+v of version %d, want the first one first, version 5", got.Sales, got.Version)
	}
}

// Nothing reads refunds back but people and auditors; they must add up to the sale's sums.
func TestStore_InsertRefund_KeepsEach(t *testing.T) {
	db := setup(t)
	s := newSale()
	sell(t, db, newPiece(7), s)
	want := []sales.Refund{
		{ID: id.New(), Sale: s.ID, Amounts: sales.Amounts{Price: 4000, Tax: 320, Fee: 1}, Reason: "scratch", RefundedAt: day},
		{ID: id.New(), Sale: s.ID, Amounts: sales.Amounts{Price: 1, Tax: 2, Fee: 3}, PieceReturned: true, Reason: "too wide", RefundedAt: day.Add(time.Hour)},
	}
	for _, r := range want {
		refund(t, db, r)
	}
	var got []sales.Refund
	err := db.View(t.Context(), func(q pg.Querier) error {
		rows, err := q.Query(t.Context(), `
			SELECT id, sale_id, price, tax, fee, piece_returned, reason, refunded_at FROM refund ORDER BY refunded_at`)
		if err != nil {
			return err
		}
		var r sales.Refund
		_, err = pgx.ForEachRow(rows, []any{&r.ID, &r.Sale, &r.Price, &r.Tax, &r.Fee, &r.PieceReturned, &r.Reason, &r.RefundedAt}, func() error {
			r.RefundedAt = r.RefundedAt.UTC()
			got = append(got, r)
			return nil
		})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("refunds (-written +read):\n%s", diff)
	}
}

func TestStore_NotThere(t *testing.T) {
	db := setup(t)
	err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		_, err := st.Lock(ctx, id.New())
		return err
	})
	if !fault.Is(err, "LISTING_NOT_FOUND") {
		t.Errorf("Lock of no listing = %v, want LISTING_NOT_FOUND", err)
	}
	err = inTx(t, db, func(ctx context.Context, st store.Store) error {
		_, err := st.LockOfSale(ctx, id.New())
		return err
	})
	if !fault.Is(err, "SALE_NOT_FOUND") {
		t.Errorf("LockOfSale of no sale = %v, want SALE_NOT_FOUND", err)
	}
}

// A refused command leaves no listing behind, although it had to make one to lock it.
func TestStore_LockOrMake_LeavesNothingWhenRefused(t *testing.T) {
	db := setup(t)
	p := newPiece(7)
	refused := fault.New(fault.Precondition, "REFUSED", "Refused.")
	err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		if l, err := st.LockOrMake(ctx, p); err != nil || l.Version != 0 || l.State != sales.NotListed {
			t.Errorf("LockOrMake = %+v, %v", l, err)
		}
		return refused
	})
	if !fault.Is(err, "REFUSED") {
		t.Fatal(err)
	}
	err = db.View(t.Context(), func(q pg.Querier) error {
		_, err := store.New(q).Get(t.Context(), p.ID)
		return err
	})
	if !fault.Is(err, "LISTING_NOT_FOUND") {
		t.Errorf("Get after a refused command = %v, want LISTING_NOT_FOUND", err)
	}
}

// What the domain should have refused, the tables refuse.
func TestStore_Constraints(t *testing.T) {
	db := setup(t)
	l := sell(t, db, newPiece(7), newSale())
	open := l.Sales[0]
	change := func(change func(*sales.Sale)) sales.Sale {
		s := newSale()
		change(&s)
		return s
	}
	insert := func(s sales.Sale) func(context.Context, store.Store) error {
		return func(ctx context.Context, st store.Store) error {
			other, err := st.LockOrMake(ctx, newPiece(8))
			if err != nil {
				return err
			}
			other.Sales = append(other.Sales, s)
			return st.InsertSale(ctx, other)
		}
	}
	back := func(r sales.Refund, refunded sales.Amounts) func(context.Context, store.Store) error {
		return func(ctx context.Context, st store.Store) error {
			r.ID, r.Sale = id.New(), open.ID
			s := open
			s.Refunded = refunded
			return st.InsertRefund(ctx, r, s)
		}
	}
	cases := map[string]struct {
		write  func(context.Context, store.Store) error
		reason string
	}{
		"TwoOpenSales": {func(ctx context.Context, st store.Store) error {
			twice := l
			twice.Sales = append(twice.Sales, newSale())
			return st.InsertSale(ctx, twice)
		}, "PIECE_SOLD"},
		"PriceZero":       {insert(change(func(s *sales.Sale) { s.Price, s.Fee = 0, 0 })), "PRICE_ZERO"},
		"FeeAbovePrice":   {insert(change(func(s *sales.Sale) { s.Fee = s.Price + 1 })), "FEE_ABOVE_PRICE"},
		"TaxAbovePrice":   {insert(change(func(s *sales.Sale) { s.Tax = s.Price + 1 })), "TAX_ABOVE_PRICE"},
		"RefundAbove":     {back(sales.Refund{PieceReturned: true}, sales.Amounts{Price: 24001}), "REFUND_ABOVE_SALE"},
		"TaxAbove":        {back(sales.Refund{PieceReturned: true}, sales.Amounts{Tax: 1921}), "REFUND_ABOVE_SALE"},
		"FeeAbove":        {back(sales.Refund{PieceReturned: true}, sales.Amounts{Fee: 2401}), "REFUND_ABOVE_SALE"},
		"RefundOfNothing": {back(sales.Refund{}, sales.Amounts{}), "REFUND_OF_NOTHING"},
		"ReturnedTwice": {func(ctx context.Context, st store.Store) error {
			once := back(sales.Refund{PieceReturned: true}, sales.Amounts{})
			if err := once(ctx, st); err != nil {
				return err
			}
			return once(ctx, st)
		}, "SALE_ALREADY_RETURNED"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			if err := inTx(t, db, c.write); !fault.Is(err, c.reason) {
				t.Errorf("the tables say %v, want %s", err, c.reason)
			}
			if diff := cmp.Diff(l, get(t, db, l.Piece)); diff != "" {
				t.Errorf("refused, but changed (-before +after):\n%s", diff)
			}
		})
	}
}

// Pages go by tag; two pieces with one tag do not hide each other.
func TestStore_List(t *testing.T) {
	db := setup(t)
	for _, tag := range []int32{5, 3, 9, 3, 1} {
		sell(t, db, newPiece(tag), newSale())
	}
	want := []int32{1, 3, 3, 5, 9}
	var got []int32
	var last sales.Listing
	for range 3 {
		var page []sales.Listing
		err := db.View(t.Context(), func(q pg.Querier) (err error) {
			page, err = store.New(q).List(t.Context(), last.Tag, last.Piece, nil, 2)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range page {
			got, last = append(got, l.Tag), l
			if len(l.Sales) != 1 {
				t.Errorf("listing of tag %d has %d sales, want 1", l.Tag, len(l.Sales))
			}
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("tags over three pages (-want +got):\n%s", diff)
	}
}
