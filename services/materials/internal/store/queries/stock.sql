-- name: GetMethod :one
SELECT cost_method, version, EXISTS (SELECT FROM entry) AS settled FROM stock_policy;

-- Whoever writes entries has locked a product first, and so waits for it, and it for them.
-- name: LockEntries :exec
LOCK TABLE product IN EXCLUSIVE MODE;

-- name: SetMethod :exec
UPDATE stock_policy SET cost_method = @cost_method, version = @version;

-- name: InsertEntry :exec
INSERT INTO entry (id, product_id, kind, purpose, at, quantity, cost, lot_id, into_lot_id, of_id, expires_at, opened, takes, place_id,
    piece_id, stage_id, stage_kind, pass, cause, mix_id, supplier, batch_code, reason, actor, recorded_at, undone_at, order_id, order_line)
VALUES (@id, @product_id, @kind, @purpose, @at, @quantity, @cost, @lot_id, @into_lot_id, @of_id, @expires_at, @opened, @takes, @place_id,
    @piece_id, @stage_id, @stage_kind, @pass, @cause, @mix_id, @supplier, @batch_code, @reason, @actor, @recorded_at, @undone_at, @order_id, @order_line);

-- name: InsertMovement :exec
INSERT INTO movement (product_id, lot_id, entry_id, because_id, quantity, cost)
VALUES (@product_id, @lot_id, @entry_id, @because_id, @quantity, @cost);

-- name: SaveLot :exec
INSERT INTO lot (id, product_id, root_id, quantity, quantity_left, cost, cost_left, received_at, supplier, expires_at, opened, closed, place_id, mix_id, batch_code)
VALUES (@id, @product_id, @root_id, @quantity, @quantity_left, @cost, @cost_left, @received_at, @supplier, @expires_at, @opened, @closed, @place_id, @mix_id, @batch_code)
ON CONFLICT (id) DO UPDATE SET quantity = @quantity, quantity_left = @quantity_left, cost = @cost, cost_left = @cost_left,
    expires_at = @expires_at, opened = @opened, closed = @closed, place_id = @place_id, supplier = @supplier, mix_id = @mix_id, batch_code = @batch_code;

-- By id, as all who need several do.
-- name: MakePieces :exec
INSERT INTO piece (id, version) SELECT unnest(@ids::uuid[]), 0 ON CONFLICT (id) DO NOTHING;

-- name: LockPieces :many
SELECT id, version FROM piece WHERE id = ANY (@ids::uuid[]) ORDER BY id FOR UPDATE;

-- The same, for a reading that follows in the same trip.
-- name: LockPiecesFirst :exec
SELECT 1 FROM piece WHERE id = ANY (@ids::uuid[]) ORDER BY id FOR UPDATE;

-- name: LockPieceOfEntry :exec
SELECT 1 FROM piece JOIN entry ON entry.piece_id = piece.id
WHERE entry.id = @entry_id AND entry.product_id = @product_id FOR UPDATE OF piece;

-- name: UpdatePiece :exec
UPDATE piece SET version = @version WHERE id = @id;

-- The product beside the lots that have something left, and those that are named.
-- name: GetShelf :many
SELECT sqlc.embed(product), stock_policy.cost_method,
    ARRAY(SELECT piece.version FROM piece WHERE piece.id = ANY (@pieces::uuid[]) ORDER BY piece.id)::bigint[] AS versions, lot.id AS lot_id, lot.root_id, lot.quantity, lot.quantity_left, lot.cost, lot.cost_left,
    lot.received_at, lot.supplier, lot.expires_at, lot.opened, lot.closed, lot.place_id, lot.mix_id, lot.batch_code
FROM product CROSS JOIN stock_policy
    LEFT JOIN lot ON lot.product_id = product.id AND (lot.quantity_left > 0 OR lot.id = ANY (@named::uuid[]))
WHERE product.id = @id ORDER BY lot.received_at, lot.id;

-- name: ListAllLots :many
SELECT sqlc.embed(lot) FROM lot WHERE product_id = @product_id;

-- name: ListLots :many
SELECT sqlc.embed(lot)
FROM lot
WHERE product_id = @product_id AND (received_at, id) > (@after_at::timestamptz, @after_id::uuid)
  AND (quantity_left > 0 OR @used_up_too::boolean)
ORDER BY received_at, id LIMIT @page_limit;

-- name: GetEntry :one
SELECT sqlc.embed(entry), EXISTS (SELECT FROM entry u WHERE u.kind = 'undone' AND (u.of_id = entry.id OR u.of_id = entry.of_id AND entry.kind = 'came back' OR u.of_id = entry.lot_id AND entry.kind = 'cost added')) AS undone
FROM entry WHERE entry.id = @id AND entry.product_id = @product_id;

-- What came back of an entry.
-- name: ListBacks :many
SELECT sqlc.embed(entry) FROM entry WHERE entry.of_id = ANY (@entries::uuid[])
  AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = entry.id AND u.kind = 'undone') ORDER BY at, id;

-- Everything that was ever noted of a product.
-- name: ListHistory :many
SELECT sqlc.embed(entry) FROM entry WHERE product_id = @product_id;

-- What entries did to lots, as it is counted now; of what was undone what it did before.
-- name: ListParts :many
SELECT entry_id, lot_id, sum(quantity)::numeric AS quantity, sum(cost)::bigint AS cost, count(DISTINCT because_id)::integer AS recosted
FROM movement WHERE entry_id = ANY (@entries::uuid[])
  AND NOT EXISTS (SELECT FROM entry u JOIN entry e ON e.id = movement.entry_id WHERE u.id = movement.because_id AND u.kind = 'undone'
    AND (u.of_id = e.id OR u.of_id = e.of_id OR u.of_id = e.lot_id AND e.kind = 'cost added'))
GROUP BY entry_id, lot_id ORDER BY entry_id, min(id);

-- The same of all entries of a product.
-- name: ListPartsOfProduct :many
SELECT entry_id, lot_id, sum(quantity)::numeric AS quantity, sum(cost)::bigint AS cost
FROM movement WHERE product_id = @product_id
GROUP BY entry_id, lot_id ORDER BY entry_id, min(id);

-- name: ListEntries :many
SELECT sqlc.embed(entry), sqlc.embed(product), EXISTS (SELECT FROM entry u WHERE u.kind = 'undone' AND (u.of_id = entry.id OR u.of_id = entry.of_id AND entry.kind = 'came back' OR u.of_id = entry.lot_id AND entry.kind = 'cost added')) AS undone
FROM entry JOIN product ON product.id = entry.product_id
WHERE (entry.at, entry.id) < (@before_at::timestamptz, @before_id::uuid) AND entry.at >= @from_at
  AND (sqlc.narg(product_id)::uuid IS NULL OR entry.product_id = sqlc.narg(product_id))
  AND (sqlc.narg(piece_id)::uuid IS NULL OR entry.piece_id = sqlc.narg(piece_id))
  AND (cardinality(@purposes::text[]) = 0 OR entry.purpose = ANY (@purposes::text[]))
ORDER BY entry.at DESC, entry.id DESC LIMIT @page_limit;
