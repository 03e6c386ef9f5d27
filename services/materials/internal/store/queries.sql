-- name: InsertProduct :exec
INSERT INTO product (id, display_name, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
VALUES (@id, @display_name, @unit, @package_labels, @package_contents, @threshold, @on_hand, @value, @low, @version);

-- name: UpdateProduct :exec
UPDATE product SET threshold = @threshold, on_hand = @on_hand, value = @value, low = @low, version = @version
WHERE id = @id;

-- name: InsertLot :exec
INSERT INTO lot (id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier)
VALUES (@id, @product_id, @quantity, @quantity_left, @cost, @cost_left, @received_at, @supplier);

-- name: UpdateLot :exec
UPDATE lot SET quantity_left = @quantity_left, cost_left = @cost_left WHERE id = @id;

-- name: InsertMovement :exec
INSERT INTO movement (product_id, lot_id, kind, quantity, cost, issue_id, piece_id, stage_id, pass, actor, at)
VALUES (@product_id, @lot_id, @kind, @quantity, @cost, @issue_id, @piece_id, @stage_id, @pass, @actor, @at);

-- name: LockProduct :one
SELECT id, display_name, unit, package_labels, package_contents, threshold, on_hand, value, low, version
FROM product WHERE id = @id FOR UPDATE;

-- name: LockProductFirst :exec
SELECT 1 FROM product WHERE id = @id FOR UPDATE;

-- name: GetProductWithOpenLots :many
SELECT sqlc.embed(product), lot.id AS lot_id, lot.quantity, lot.quantity_left, lot.cost, lot.cost_left, lot.received_at, lot.supplier
FROM product LEFT JOIN lot ON lot.product_id = product.id AND lot.quantity_left > 0
WHERE product.id = @id ORDER BY lot.received_at, lot.id;

-- name: GetProduct :one
SELECT id, display_name, unit, package_labels, package_contents, threshold, on_hand, value, low, version
FROM product WHERE id = @id;

-- name: ListProducts :many
SELECT id, display_name, unit, package_labels, package_contents, threshold, on_hand, value, low, version
FROM product WHERE lower(display_name) > lower(@after_name) ORDER BY lower(display_name) LIMIT @page_limit;

-- name: ListLots :many
SELECT id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier
FROM lot
WHERE product_id = @product_id AND (received_at, id) > (@after_at::timestamptz, @after_id::uuid)
  AND (quantity_left > 0 OR @used_up_too::boolean)
ORDER BY received_at, id LIMIT @page_limit;
