-- name: InsertOrder :one
INSERT INTO purchase_order (id, supplier_id, state, ordered_at, expected_at, reason, note, actor, version)
VALUES (@id, @supplier_id, @state, @ordered_at, @expected_at, @reason, @note, @actor, @version)
RETURNING number;

-- name: InsertOrderLine :exec
INSERT INTO purchase_order_line (order_id, number, product_id, package_label, packages, content, price, received, first_received_at)
VALUES (@order_id, @number, @product_id, @package_label, @packages, @content, @price, @received, @first_received_at);

-- name: LockOrderFirst :exec
SELECT 1 FROM purchase_order WHERE id = @id FOR UPDATE;

-- name: GetOrders :many
SELECT sqlc.embed(purchase_order), supplier.display_name AS supplier_name, sqlc.embed(purchase_order_line), product.display_name AS product_name, product.unit
FROM purchase_order JOIN supplier ON supplier.id = purchase_order.supplier_id
    JOIN purchase_order_line ON purchase_order_line.order_id = purchase_order.id JOIN product ON product.id = purchase_order_line.product_id
WHERE purchase_order.id = ANY (@ids::uuid[]) ORDER BY purchase_order.number DESC, purchase_order_line.number;

-- Newest first.
-- name: ListOrderIDs :many
SELECT o.id FROM purchase_order o
WHERE o.number < @before_number::bigint AND (sqlc.narg(supplier_id)::uuid IS NULL OR o.supplier_id = sqlc.narg(supplier_id))
    AND (sqlc.narg(product_id)::uuid IS NULL OR EXISTS (SELECT FROM purchase_order_line l WHERE l.order_id = o.id AND l.product_id = sqlc.narg(product_id)))
    AND (NOT @open_only::boolean OR o.state IN ('ordered', 'part received'))
ORDER BY o.number DESC LIMIT @page_limit;

-- name: OverdueOrderIDs :many
SELECT id FROM purchase_order WHERE state IN ('ordered', 'part received') AND expected_at < @now ORDER BY number;

-- name: UpdateOrder :exec
UPDATE purchase_order SET state = @state, reason = @reason, version = @version WHERE id = @id;

-- name: UpdateOrderLine :exec
UPDATE purchase_order_line SET received = @received, first_received_at = @first_received_at WHERE order_id = @order_id AND number = @number;

-- name: HoldSupplier :exec
SELECT 1 FROM supplier WHERE id = @id FOR SHARE;

-- name: OrderSupplier :one
SELECT id, display_name, lead_days, retired FROM supplier WHERE id = @id;

-- What can be ordered of some products: as a supplier offers them.
-- name: OrderOffers :many
SELECT product_id, package_label, content, coalesce(lead_days, @supplier_lead_days::integer)::integer AS lead_days, break_from, break_price
FROM offer WHERE supplier_id = @supplier_id AND product_id = ANY (@products::uuid[]) ORDER BY product_id, package_label;

-- They are not taken away while somebody orders them.
-- name: OrderProducts :many
SELECT sqlc.embed(product) FROM product WHERE id = ANY (@products::uuid[]) ORDER BY id FOR KEY SHARE;

-- When the first came of a line of an order, but for one delivery.
-- name: FirstArrival :one
SELECT entry.at FROM entry
WHERE entry.order_id = @order_id AND entry.order_line = @order_line AND entry.id <> @but_id AND entry.kind = 'came in'
  AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = entry.id AND u.kind = 'undone')
ORDER BY entry.at LIMIT 1;
