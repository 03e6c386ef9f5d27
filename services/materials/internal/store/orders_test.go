package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

var sameOrder = cmp.Options{
	cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) }),
	cmp.Comparer(func(a, b quantity.Unit) bool { return a.Symbol == b.Symbol }),
}

// placed writes an order of two gallons.
func placed(t testing.TB, db *pg.DB, supplier, product id.ID) (o materials.Order) {
	t.Helper()
	litre, err := quantity.UnitOf("L")
	if err != nil {
		t.Fatal(err)
	}
	o, _, err = materials.PlaceOrder(materials.Order{ID: id.New(), Supplier: supplier, SupplierName: "Hardware store", OrderedAt: march, ExpectedAt: march.AddDate(0, 0, 6), Actor: "Nell", Note: "by phone",
		Lines: []materials.OrderLine{{Product: product, ProductName: "Shellac", Unit: litre, Package: "gallon", Count: 2, Content: decimal.RequireFromString("3.785411784"), Price: 45_00}}})
	if err != nil {
		t.Fatal(err)
	}
	err = db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) (err error) {
		o, err = store.New(tx).InsertOrder(ctx, o)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// receive takes in an amount of line 1, so many days after the order.
func receiveLine(t testing.TB, db *pg.DB, order id.ID, litres string, days int) (o materials.Order) {
	t.Helper()
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) (err error) {
		if o, err = store.New(tx).LockOrder(ctx, order); err != nil {
			return err
		}
		if _, err = o.Receive(1, decimal.RequireFromString(litres), march.AddDate(0, 0, days)); err != nil {
			return err
		}
		return store.New(tx).SaveOrder(ctx, o)
	})
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func TestStore_Orders(t *testing.T) {
	db := open(t)
	product := shelf(t, db, "Shellac", "1")
	supplier := sells(t, db, "Hardware store", 6, product)
	first, second := placed(t, db, supplier, product), placed(t, db, supplier, product)
	if first.Number != 1 || second.Number != 2 {
		t.Errorf("the orders have the numbers %d and %d, want 1 and 2", first.Number, second.Number)
	}
	changed := receiveLine(t, db, first.ID, "4", 8)
	var got materials.Order
	var page1, page2, open, late []materials.Order
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		st, ctx := store.New(q), t.Context()
		if got, err = st.Order(ctx, first.ID); err != nil {
			return err
		}
		if page1, err = st.Orders(ctx, store.OrderFilter{Supplier: supplier}, 0, 1); err != nil {
			return err
		}
		if page2, err = st.Orders(ctx, store.OrderFilter{Product: product}, page1[0].Number, 1); err != nil {
			return err
		}
		if open, err = st.Orders(ctx, store.OrderFilter{OnlyOpen: true}, 0, 10); err != nil {
			return err
		}
		late, err = st.Late(ctx, march.AddDate(0, 0, 7))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(changed, got, sameOrder); diff != "" {
		t.Errorf("Order (-saved +read):\n%s", diff)
	}
	if page1[0].Number != 2 || page2[0].Number != 1 || len(open) != 2 || len(late) != 2 {
		t.Errorf("pages %v and %v, %d open, %d late", page1, page2, len(open), len(late))
	}
	receiveLine(t, db, first.ID, "3.570823568", 9)
	err = db.View(t.Context(), func(q pg.Querier) (err error) {
		open, err = store.New(q).Orders(t.Context(), store.OrderFilter{OnlyOpen: true}, 0, 10)
		return err
	})
	if err != nil || len(open) != 1 || open[0].Number != 2 {
		t.Errorf("open = %v, %v; want only number 2", open, err)
	}
}

func TestStore_Orders_NotFound(t *testing.T) {
	db := open(t)
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		if _, err := store.New(tx).Seller(ctx, id.New(), nil, march); !fault.Is(err, "SUPPLIER_NOT_FOUND") {
			t.Errorf("Seller = %v, want SUPPLIER_NOT_FOUND", err)
		}
		_, err := store.New(tx).LockOrder(ctx, id.New())
		return err
	})
	if !fault.Is(err, "ORDER_NOT_FOUND") {
		t.Errorf("LockOrder = %v, want ORDER_NOT_FOUND", err)
	}
}
