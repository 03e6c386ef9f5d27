-- name: GetRestockPolicy :one
SELECT service_level, review_days, order_cost, holding_share, version FROM restock_policy;

-- There is no row to lock before somebody chooses, so the row is made of what is usual.
-- name: LockRestockPolicy :one
INSERT INTO restock_policy (service_level, review_days, order_cost, holding_share, version)
VALUES (@service_level, @review_days, @order_cost, @holding_share, @version)
ON CONFLICT (one) DO UPDATE SET version = restock_policy.version
RETURNING service_level, review_days, order_cost, holding_share, version;

-- name: UpdateRestockPolicy :exec
UPDATE restock_policy SET service_level = @service_level, review_days = @review_days, order_cost = @order_cost, holding_share = @holding_share, version = @version;

-- Products with what of them can be used, when the first of them was written down, and how many
-- days they keep at most.
-- name: RestockProducts :many
SELECT product.id, product.display_name, product.unit, product.threshold, product.on_hand, product.value, product.low, product.about_closed_days AS keeps_days,
    coalesce((SELECT sum(lot.quantity_left) FROM lot WHERE lot.product_id = product.id AND lot.quantity_left > 0 AND NOT lot.closed
        AND (lot.expires_at IS NULL OR lot.expires_at > @now::timestamptz)), 0)::numeric AS fresh,
    coalesce((SELECT entry.at FROM entry WHERE entry.product_id = product.id AND entry.kind <> 'undone'
        AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = entry.id AND u.kind = 'undone') ORDER BY entry.at, entry.id LIMIT 1), @now)::timestamptz AS first_at
FROM product WHERE sqlc.narg(products)::uuid[] IS NULL OR product.id = ANY (sqlc.narg(products)::uuid[]) ORDER BY product.name_key;

-- name: RestockOffers :many
SELECT offer.product_id, offer.supplier_id, supplier.display_name AS supplier_name, offer.package_label, offer.content,
    coalesce(offer.lead_days, supplier.lead_days)::integer AS lead_days, offer.break_from, offer.break_price
FROM offer JOIN supplier ON supplier.id = offer.supplier_id AND NOT supplier.retired
WHERE sqlc.narg(products)::uuid[] IS NULL OR offer.product_id = ANY (sqlc.narg(products)::uuid[])
ORDER BY offer.product_id, offer.supplier_id, offer.package_label;

-- By which recipe each product is mixed: that by which it last was, or else the first by name. How
-- long it keeps then is as for a mix that is made of it.
-- name: Mixtures :many
SELECT r.makes_id, r.id, r.display_name,
    (CASE WHEN r.keeps_minutes > 0 THEN r.keeps_minutes WHEN product.about_pot_life_minutes > 0 THEN product.about_pot_life_minutes ELSE product.about_open_days * 1440 END)::bigint AS keeps_minutes,
    part.product_id, (CASE WHEN part.parts > 0 THEN part.parts / sum(part.parts) OVER (PARTITION BY r.id) ELSE part.to_each END)::numeric AS each
FROM (
    SELECT DISTINCT ON (recipe.makes_id) recipe.* FROM recipe
        LEFT JOIN (SELECT recipe_id, max(mixed_at) AS at FROM mix
            WHERE NOT EXISTS (SELECT FROM entry u WHERE u.of_id = mix.lot_id AND u.kind = 'undone') GROUP BY recipe_id) last ON last.recipe_id = recipe.id
    ORDER BY recipe.makes_id, last.at DESC NULLS LAST, recipe.name_key
) r JOIN product ON product.id = r.makes_id JOIN recipe_part part ON part.recipe_id = r.id
ORDER BY r.makes_id, part.number;

-- What is on order and has not come.
-- name: RestockComing :many
SELECT l.product_id, (l.content * l.packages - l.received)::numeric AS quantity, o.expected_at
FROM purchase_order o JOIN purchase_order_line l ON l.order_id = o.id
WHERE o.state IN ('ordered', 'part received') AND l.received < l.content * l.packages
    AND (sqlc.narg(products)::uuid[] IS NULL OR l.product_id = ANY (sqlc.narg(products)::uuid[]))
ORDER BY l.product_id, o.expected_at, o.number, l.number;

-- How many days each line took until something of it came, by supplier and product.
-- name: DeliveryTimes :many
SELECT o.supplier_id, l.product_id, array_agg(extract(epoch FROM l.first_received_at - o.ordered_at) / 86400 ORDER BY o.number, l.number)::float8[] AS days
FROM purchase_order o JOIN purchase_order_line l ON l.order_id = o.id
WHERE l.first_received_at >= o.ordered_at AND o.ordered_at >= @since
GROUP BY o.supplier_id, l.product_id ORDER BY o.supplier_id, l.product_id;
