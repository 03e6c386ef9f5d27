package store_test

import (
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// exec runs a statement as it is.
func exec(t testing.TB, db *pg.DB, sql string, args ...any) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		_, err := q.Exec(t.Context(), sql, args...)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// shelf writes a product that is counted in litres, of which so much is on hand in one lot.
func shelf(t testing.TB, db *pg.DB, name, litres string) id.ID {
	t.Helper()
	product, lot := id.New(), id.New()
	exec(t, db, `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
		VALUES ($1, $2, $2, 'L', '{}', '{}', 0, $3::numeric, 1000, false, 1)`, product, name, litres)
	exec(t, db, `INSERT INTO lot (id, root_id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier) VALUES ($1, $1, $2, $3::numeric, $3::numeric, 1000, 1000, $4, '')`,
		lot, product, litres, march.AddDate(0, 0, -100))
	exec(t, db, `INSERT INTO entry (id, product_id, kind, purpose, at, quantity, cost, lot_id, actor) VALUES ($1, $2, 'came in', 'delivery', $3, $4::numeric, 1000, $1, 'Nell')`,
		lot, product, march.AddDate(0, 0, -100), litres)
	return product
}

// sells writes a supplier, who offers a product in gallons for 45.00.
func sells(t testing.TB, db *pg.DB, name string, days int, product id.ID) id.ID {
	t.Helper()
	supplier := id.New()
	exec(t, db, `INSERT INTO supplier (id, display_name, name_key, lead_days, note, retired, version) VALUES ($1, $2, $2, $3, '', false, 1)`, supplier, name, days)
	exec(t, db, `INSERT INTO offer (supplier_id, product_id, package_label, content, article, break_from, break_price)
		VALUES ($1, $2, 'gallon', 3.785411784, '', '{1,6}', '{4500,4000}')`, supplier, product)
	return supplier
}

// needs writes that a stage takes so much of a product after so many days.
func needs(t testing.TB, db *pg.DB, product id.ID, litres string, days int) id.ID {
	t.Helper()
	stage := id.New()
	exec(t, db, `INSERT INTO need (stage_id, product_id, pass, piece_id, stage_title, stage_kind, method, unit, planned, quantity, wanted_at, seconds_to, state, noted_at)
		VALUES ($1, $2, 1, $3, 'Topcoat of the dresser', 'topcoat_coat', '', 'L', $4::numeric, $4::numeric, $5, 0, 'open', $6)`,
		stage, product, id.New(), litres, march.AddDate(0, 0, days), march.AddDate(0, 0, -5))
	return stage
}
