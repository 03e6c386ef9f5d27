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
// that do not agree with their lots, issues that do not agree with their movements, and
// issues that were not taken back to the last bit.
const unbalanced = `
WITH moved AS (
    SELECT product_id, sum(quantity) AS quantity, sum(cost) AS cost FROM materials.movement GROUP BY product_id
), of_lot AS (
    SELECT lot_id, product_id, sum(quantity) AS quantity, sum(cost) AS cost,
           count(*) FILTER (WHERE kind = 'receive') AS receipts FROM materials.movement GROUP BY lot_id, product_id
), shelf AS (
    SELECT product_id, sum(quantity_left) AS quantity, sum(cost_left) AS cost FROM materials.lot GROUP BY product_id
)
SELECT
    (SELECT count(*) FROM materials.product AS p LEFT JOIN moved AS m ON m.product_id = p.id
     WHERE p.on_hand <> coalesce(m.quantity, 0) OR p.value <> coalesce(m.cost, 0)),
    (SELECT count(*) FROM materials.product AS p LEFT JOIN shelf AS s ON s.product_id = p.id
     WHERE p.on_hand <> coalesce(s.quantity, 0) OR p.value <> coalesce(s.cost, 0)),
    (SELECT count(*) FROM materials.lot AS l LEFT JOIN of_lot AS m ON m.lot_id = l.id AND m.product_id = l.product_id
     WHERE m.receipts IS DISTINCT FROM 1 OR l.quantity_left <> m.quantity OR l.cost_left <> m.cost),
    (SELECT count(*) FROM materials.issue AS i LEFT JOIN materials.movement AS m ON m.issue_id = i.id AND m.kind = 'issue'
     WHERE (m.product_id, m.actor, m.at) IS DISTINCT FROM (i.product_id, i.actor, i.issued_at)),
    (SELECT count(*) FROM materials.movement AS m LEFT JOIN materials.take_back AS t USING (issue_id)
        LEFT JOIN materials.movement AS b ON b.issue_id = m.issue_id AND b.lot_id = m.lot_id AND b.kind = 'take_back'
     WHERE m.kind = 'issue' AND CASE WHEN t.issue_id IS NULL THEN b.id IS NOT NULL
        ELSE (b.quantity, b.cost, b.product_id, b.actor, b.at) IS DISTINCT FROM (-m.quantity, -m.cost, m.product_id, t.actor, t.taken_back_at) END)`

// balanced checks that stock is the sum of what came and went, in SQL.
func (b *bundle) balanced(t *testing.T) {
	t.Helper()
	var wrong [5]int
	b.query(t, unbalanced, &wrong[0], &wrong[1], &wrong[2], &wrong[3], &wrong[4])
	if wrong != [5]int{} {
		t.Fatalf("not the sum of their movements: %d products; of their lots: %d products; lots: %d; issues: %d; drawn and not put back alike: %d",
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
