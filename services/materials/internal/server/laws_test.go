package server_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// unbalanced counts products and lots that do not agree with the movements, products
// that do not agree with their lots, entries that do not agree with their movements, and
// issues that were not taken back to the last bit.
const unbalanced = `
WITH moved AS (
    SELECT product_id, sum(quantity) AS quantity, sum(cost) AS cost FROM materials.movement GROUP BY product_id
), of_lot AS (
    SELECT lot_id, product_id, sum(quantity) AS quantity, sum(cost) AS cost FROM materials.movement GROUP BY lot_id, product_id
), of_entry AS (
    SELECT entry_id, sum(quantity) AS quantity, sum(cost) AS cost FROM materials.movement GROUP BY entry_id
), shelf AS (
    SELECT product_id, sum(quantity_left) AS quantity, sum(cost_left) AS cost FROM materials.lot GROUP BY product_id
), back AS (
    SELECT coalesce(e.of_id, e.id) AS issue_id, m.lot_id, sum(m.quantity) AS quantity, sum(m.cost) AS cost
    FROM materials.entry AS e JOIN materials.movement AS m ON m.entry_id = e.id
    WHERE coalesce(e.of_id, e.id) IN (SELECT of_id FROM materials.entry WHERE purpose = 'take back') GROUP BY 1, 2
)
SELECT
    (SELECT count(*) FROM materials.product AS p LEFT JOIN moved AS m ON m.product_id = p.id
     WHERE p.on_hand <> coalesce(m.quantity, 0) OR p.value <> coalesce(m.cost, 0)),
    (SELECT count(*) FROM materials.product AS p LEFT JOIN shelf AS s ON s.product_id = p.id
     WHERE p.on_hand <> coalesce(s.quantity, 0)
        OR p.value <> coalesce(s.cost, 0) AND (SELECT cost_method FROM materials.stock_policy) = 'first in first out'),
    (SELECT count(*) FROM materials.lot AS l LEFT JOIN of_lot AS m ON m.lot_id = l.id AND m.product_id = l.product_id
     WHERE l.quantity_left <> coalesce(m.quantity, 0)
        OR l.cost_left <> coalesce(m.cost, 0) AND (SELECT cost_method FROM materials.stock_policy) = 'first in first out'),
    (SELECT count(*) FROM materials.entry AS e LEFT JOIN of_entry AS m ON m.entry_id = e.id
     WHERE e.kind <> 'undone' AND NOT EXISTS (SELECT FROM materials.entry AS u WHERE u.kind = 'undone' AND u.of_id IN (e.id, e.of_id))
       AND coalesce(m.quantity, 0) <> CASE kind WHEN 'came in' THEN e.quantity WHEN 'came back' THEN e.quantity WHEN 'went out' THEN -e.quantity
        WHEN 'counted' THEN coalesce(m.quantity, 0) ELSE 0 END),
    (SELECT count(*) FROM back WHERE quantity <> 0 OR cost <> 0)`

// balanced checks that stock is the sum of what came and went, in SQL.
func (b *bundle) balanced(t *testing.T) {
	t.Helper()
	var wrong [5]int
	b.query(t, unbalanced, &wrong[0], &wrong[1], &wrong[2], &wrong[3], &wrong[4])
	if wrong != [5]int{} {
		t.Fatalf("not the sum of their movements: %d products; of their lots: %d products; lots: %d; entries: %d; drawn and not put back alike: %d",
			wrong[0], wrong[1], wrong[2], wrong[3], wrong[4])
	}
}

// Whatever is received, issued, taken back and set, in whatever order and units: on hand
// is the sum of the movements, and its value the sum of their costs.
func TestServer_Laws(t *testing.T) {
	b := setup(t)
	products := 0
	rapid.Check(t, func(rt *rapid.T) {
		products++
		add := shellac()
		add.DisplayName = fmt.Sprintf("Shellac %d", products)
		product := b.add(t, add).Name
		var standing []string
		for range rapid.IntRange(1, 12).Draw(rt, "commands") {
			unit := rapid.SampledFrom([]string{"L", "mL", "floz", "qt"}).Draw(rt, "unit")
			amount := of(rapid.StringMatching(`[1-9][0-9]?\.[0-9]{0,5}[1-9]`).Draw(rt, "amount"), unit)
			switch rapid.IntRange(0, 6).Draw(rt, "command") {
			case 0:
				b.setThreshold(t, threshold(product, amount))
			case 1:
				b.receive(t, packs(product, "quart can", rapid.Int32Range(1, 5).Draw(rt, "count"), 19_99))
			case 2:
				r := delivery(product, "1", rapid.Int64Range(0, 5_000).Draw(rt, "cents"))
				r.Amount = &materialsv1.ReceiveStockRequest_Quantity{Quantity: amount}
				b.receive(t, r)
			case 3:
				if len(standing) > 0 {
					n := rapid.IntRange(0, len(standing)-1).Draw(rt, "which")
					b.takeBack(t, standing[n])
					standing = slices.Delete(standing, n, n+1)
				}
			default:
				r, err := b.IssueMaterial(svctest.Ctx(t), b.issueOf(product, amount))
				if err == nil {
					standing = append(standing, r.Issue.Name)
				} else if !fault.Is(err, "STOCK_TOO_SMALL") {
					rt.Fatalf("IssueMaterial: %v", err)
				}
			}
		}
	})
	b.dense(t)
	b.balanced(t)
}
