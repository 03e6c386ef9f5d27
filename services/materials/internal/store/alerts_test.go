package store_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

func alertOf(product id.ID, kind materials.AlertKind, text string) materials.Alert {
	return materials.Alert{Kind: kind, Key: product.String(), Product: product, Text: text, Due: march}
}

// changeAlerts brings the alerts of a scope to those that are due, in one transaction.
func changeAlerts(t *testing.T, db *pg.DB, scope store.AlertScope, due ...materials.Alert) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		if mine, err := st.TryAlerts(ctx); err != nil || !mine {
			return fmt.Errorf("TryAlerts = %v, %w", mine, err)
		}
		open, err := st.OpenAlerts(ctx, scope)
		if err != nil {
			return err
		}
		return st.ChangeAlerts(ctx, materials.Changes(open, due, id.New), march)
	})
}

// What is told of alerts has positions without a gap, each as it was then.
func TestStore_ChangeAlerts(t *testing.T) {
	db := open(t)
	shellac, wax := id.New(), id.New()
	all := store.AlertScope{OfProducts: true}
	for _, due := range [][]materials.Alert{
		{alertOf(shellac, materials.OrderNow, "Order 1."), alertOf(wax, materials.OrderNow, "Order 2.")},
		{alertOf(shellac, materials.OrderNow, "Order 3."), alertOf(wax, materials.OrderNow, "Order 2.")},
		{alertOf(wax, materials.OrderNow, "Order 2.")},
		{alertOf(shellac, materials.OrderNow, "Order 4."), alertOf(wax, materials.OrderNow, "Order 2.")},
	} {
		if err := changeAlerts(t, db, all, due...); err != nil {
			t.Fatal(err)
		}
	}
	var told []store.ToldAlert
	var seen []store.SeenAlert
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		if told, err = store.New(q).AlertsAfter(t.Context(), 0, 100); err != nil {
			return err
		}
		seen, err = store.New(q).Alerts(t.Context(), store.AlertFilter{ClosedToo: true}, store.AlertKey{}, 100)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"raised Order 1.", "raised Order 2.", "updated Order 3.", "closed Order 3.", "raised Order 4."}
	for n, a := range told {
		if got := string(a.Change) + " " + a.Text; n >= len(want) || got != want[n] || a.Position != int64(n+1) || a.ClosedAt.IsZero() == (a.Change == materials.AlertClosed) {
			t.Errorf("position %d: %s, closed at %s; want %q", a.Position, got, a.ClosedAt, want)
		}
	}
	if len(told) != len(want) || len(seen) != 3 {
		t.Errorf("%d things are told of %d alerts, want %d of 3", len(told), len(seen), len(want))
	}
}

// A look at some products, or at what is of none, leaves the other alerts alone.
func TestStore_OpenAlerts_Scope(t *testing.T) {
	db := open(t)
	shellac, wax := id.New(), id.New()
	if err := changeAlerts(t, db, store.AlertScope{OfProducts: true}, alertOf(shellac, materials.OrderNow, "Order 1."), alertOf(wax, materials.BelowThreshold, "Low.")); err != nil {
		t.Fatal(err)
	}
	if err := changeAlerts(t, db, store.AlertScope{}, alertOf(wax, "wax expires", "Use it up.")); err != nil {
		t.Fatal(err)
	}
	if err := changeAlerts(t, db, store.AlertScope{OfProducts: true, Products: []id.ID{wax}}); err != nil {
		t.Fatal(err)
	}
	var open []store.SeenAlert
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		open, err = store.New(q).Alerts(t.Context(), store.AlertFilter{}, store.AlertKey{}, 100)
		return err
	})
	if err != nil || len(open) != 2 || open[0].Text == "Low." || open[1].Text == "Low." {
		t.Errorf("open = %+v, %v; want those of shellac and of what expires", open, err)
	}
}

// While one looks, another does not, and is told so at once.
func TestStore_TryAlerts_OneAtATime(t *testing.T) {
	db := open(t)
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		if mine, err := store.New(tx).TryAlerts(ctx); err != nil || !mine {
			t.Errorf("the first: %v, %v", mine, err)
		}
		return db.InTx(ctx, func(ctx context.Context, other *pg.Tx) error {
			if mine, err := store.New(other).TryAlerts(ctx); err != nil || mine {
				t.Errorf("the second: %v, %v", mine, err)
			}
			return nil
		})
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestStore_AlertAt(t *testing.T) {
	db := open(t)
	err := db.View(t.Context(), func(q pg.Querier) error {
		if of, err := store.New(q).AlertAt(t.Context(), 0); err != nil || of != id.Nil {
			t.Errorf("at the beginning: %s, %v", of, err)
		}
		_, err := store.New(q).AlertAt(t.Context(), 1)
		return err
	})
	if !fault.Is(err, "POSITION_UNKNOWN") {
		t.Errorf("AlertAt = %v, want POSITION_UNKNOWN", err)
	}
}

var march = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
