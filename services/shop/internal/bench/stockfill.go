package bench

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// Where the products of each measurement begin.
const (
	manyProducts    = 0
	oneProduct      = 10_000 // what all callers want
	lastCan         = 10_001
	lateProduct     = 10_002 // that a delivery is entered late of
	advisedProducts = 20_000
)

// nth makes ids that can be counted: 8001 are products, 8002 lots, 8003 entries, 9000 pieces and
// a000 their stages.
const nth = `CREATE FUNCTION pg_temp.nth(kind text, n bigint) RETURNS uuid LANGUAGE sql IMMUTABLE
	RETURN ('00000000-0000-7000-' || kind || '-' || lpad(n::text, 12, '0'))::uuid`

func nthID(kind string, n int) string { return fmt.Sprintf("00000000-0000-7000-%s-%012d", kind, n) }

// shelves are products with two years of entries: lots of a price of their own, each used up by
// issues of one litre, and after them one that nothing was taken of, at 10 minor units a litre.
type shelves struct {
	first, count int
	lots, issues int // used-up lots, and issues of each
	left         int // litres of the last lot
}

// entries are those of one product.
func (f shelves) entries() int { return f.lots*(f.issues+1) + 1 }

// history are those entries in their order. For its every lot a product has a delivery with as
// many issues; n counts them, and of the lots each is the nth / (issues + 1).
func (f shelves) history() string {
	return fmt.Sprintf(`(SELECT p, n, n / %[4]d AS lot, pg_temp.nth('8001', p) AS product_id, pg_temp.nth('8003', p * 100000::bigint + n) AS entry_id, n %% %[4]d = 0 AS came_in,
			pg_temp.nth('8002', p * 1000 + n / %[4]d) AS lot_id, CASE WHEN n = %[3]d THEN %[5]d ELSE %[4]d - 1 END AS litres,
			CASE WHEN n = %[3]d THEN 10 ELSE 10 + n / %[4]d %% 5 END AS price, now() - interval '730 days' + n * interval '730 days' / %[6]d AS at
		FROM generate_series(%[1]d, %[2]d) AS p, generate_series(0, %[3]d) AS n) AS h`,
		f.first, f.first+f.count-1, f.entries()-1, f.issues+1, f.left, f.entries())
}

// statements write them as the service would have, with the event that their products' next ones
// follow.
func (f shelves) statements(pieces int) []string {
	newest := f.entries() - 1
	return []string{
		fmt.Sprintf(`INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version, newest_at, newest_rank, newest_id, last_quantity, last_cost)
			SELECT product_id, 'Product ' || p, 'product ' || p, 'L', '{can}', '{1}', 0, litres, litres * price, false, 1, at, 0, entry_id, litres, litres * price FROM %s WHERE n = %d`, f.history(), newest),
		fmt.Sprintf(`INSERT INTO event (event_id, aggregate_kind, aggregate_id, version, type, body, recorded_at, published_at)
			SELECT gen_random_uuid(), 'product', product_id, 1, 'product_added', '', now(), now() FROM %s WHERE n = %d`, f.history(), newest),
		fmt.Sprintf(`INSERT INTO lot (id, root_id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier)
			SELECT lot_id, lot_id, product_id, litres, CASE WHEN n = %[2]d THEN litres ELSE 0 END, litres * price, CASE WHEN n = %[2]d THEN litres * price ELSE 0 END, at, 'Mill'
			FROM %[1]s WHERE came_in`, f.history(), newest),
		fmt.Sprintf(`INSERT INTO entry (id, product_id, kind, purpose, at, quantity, cost, lot_id, piece_id, stage_id, stage_kind, pass, supplier, actor)
			SELECT entry_id, product_id, CASE WHEN came_in THEN 'came in' ELSE 'went out' END, CASE WHEN came_in THEN 'delivery' ELSE 'issue' END, at,
				CASE WHEN came_in THEN litres ELSE 1 END, CASE WHEN came_in THEN litres * price ELSE 0 END, CASE WHEN came_in THEN lot_id END,
				CASE WHEN NOT came_in THEN pg_temp.nth('9000', (p + n) %% %[2]d) END, CASE WHEN NOT came_in THEN pg_temp.nth('a000', (p + n) %% %[2]d) END,
				CASE WHEN came_in THEN '' ELSE 'sand' END, CASE WHEN came_in THEN 0 ELSE 1 END, CASE WHEN came_in THEN 'Mill' ELSE '' END, 'bench'
			FROM %[1]s`, f.history(), pieces),
		fmt.Sprintf(`INSERT INTO movement (product_id, lot_id, entry_id, quantity, cost)
			SELECT product_id, lot_id, entry_id, CASE WHEN came_in THEN litres ELSE -1 END, CASE WHEN came_in THEN litres * price ELSE -price END FROM %s ORDER BY n`, f.history()),
	}
}

// fill makes pieces with one stage each, which all three services know of, and the products.
func (b *stockBench) fill(ctx context.Context, _ Options, r *Stock) error {
	last := b.pieces - 1
	for schema, statements := range map[string][]string{
		"intake": {fmt.Sprintf(`INSERT INTO piece (id, tag, title, kind, client, state, scrap_reason, taken_in_at, version)
			SELECT pg_temp.nth('9000', n), n + 1, 'Chair', 'chair', 'R. Okafor', 'in_hand', '', now() - interval '800 days', 1 FROM generate_series(0, %d) AS n`, last)},
		"workflow": {fmt.Sprintf(`INSERT INTO piece (id, tag, taken_in_at, scrapped, planned, version)
			SELECT pg_temp.nth('9000', n), n + 1, now() - interval '800 days', false, true, 0 FROM generate_series(0, %d) AS n`, last),
			fmt.Sprintf(`INSERT INTO stage (id, piece_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass)
			SELECT pg_temp.nth('a000', n), pg_temp.nth('9000', n), 'seat', 'sand', 'sand', '', 1, 30, 0, '{}', 1 FROM generate_series(0, %d) AS n`, last)},
		"materials": {fmt.Sprintf(`INSERT INTO piece (id, version) SELECT pg_temp.nth('9000', n), 0 FROM generate_series(0, %d) AS n`, last)},
	} {
		if err := b.exec(ctx, schema, statements...); err != nil {
			return err
		}
	}
	late := shelves{first: lateProduct, count: 1, lots: b.lateLots, issues: 29, left: 20}
	r.History = late.entries()
	for _, f := range []shelves{
		{first: manyProducts, count: b.products, lots: 3, issues: 10, left: 1_000_000},
		{first: oneProduct, count: 1, lots: 3, issues: 10, left: 1_000_000},
		{first: lastCan, count: 1, lots: 3, issues: 10, left: b.fills / 10},
		late,
	} {
		if err := b.exec(ctx, "materials", f.statements(b.pieces)...); err != nil {
			return err
		}
	}
	return b.exec(ctx, "materials", `VACUUM ANALYZE`, `CHECKPOINT`)
}

func (b *stockBench) exec(ctx context.Context, schema string, statements ...string) error {
	return fillWith(ctx, b.suite, schema, append([]string{nth}, statements...)...)
}

// booksAgree refuses figures of a service, or of a baseline, that loses count: what lots hold and
// what came and went add up to what is on hand, and nothing is below zero.
func (b *stockBench) booksAgree(ctx context.Context, _ Options, _ *Stock) error {
	var wrong int
	err := withAdmin(ctx, b.suite, "materials", func(conn *pgx.Conn) error {
		return conn.QueryRow(ctx, `
			SELECT count(*) FROM product
				LEFT JOIN (SELECT product_id, sum(quantity_left) AS quantity, sum(cost_left) AS cost, min(quantity_left) AS least FROM lot GROUP BY 1) l ON l.product_id = product.id
				LEFT JOIN (SELECT product_id, sum(quantity) AS quantity, sum(cost) AS cost FROM movement GROUP BY 1) m ON m.product_id = product.id
			WHERE on_hand <> coalesce(l.quantity, 0) OR value <> coalesce(l.cost, 0) OR on_hand <> coalesce(m.quantity, 0) OR value <> coalesce(m.cost, 0) OR l.least < 0 OR on_hand < 0`).Scan(&wrong)
	})
	if err == nil && wrong > 0 {
		err = fmt.Errorf("of %d products the books do not agree, so nothing can be said of the speed", wrong)
	}
	return err
}
