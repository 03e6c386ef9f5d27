-- name: NextTag :one
UPDATE tag_counter SET last = last + 1 RETURNING last;

-- name: KeepTag :exec
UPDATE tag_counter SET last = greatest(last, @tag::integer);

-- name: InsertPiece :exec
INSERT INTO piece (id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id)
VALUES (@id, @tag, @title, @kind, @price, @source, @purchase_date, @client, @state, @scrap_reason, @taken_in_at, @version, @lot_id);

-- name: InsertPart :exec
INSERT INTO part (id, piece_id, position, label, count, length, length_unit, width, width_unit, thickness, thickness_unit)
VALUES (@id, @piece_id, @position, @label, @count, @length, @length_unit, @width, @width_unit, @thickness, @thickness_unit);

-- name: UpdatePiece :exec
UPDATE piece SET state = @state, scrap_reason = @scrap_reason, version = @version WHERE id = @id;

-- name: SetPrices :exec
UPDATE piece SET price = now.price
FROM (SELECT unnest(@ids::uuid[]) AS id, unnest(@prices::bigint[]) AS price) AS now WHERE piece.id = now.id;

-- name: LockPiece :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id
FROM piece WHERE id = @id FOR UPDATE;

-- name: GetPiece :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id
FROM piece WHERE id = @id;

-- name: GetPieceByTag :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id
FROM piece WHERE tag = @tag;

-- name: ListPieces :many
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id
FROM piece WHERE tag > @after_tag ORDER BY tag LIMIT @page_limit;

-- name: ListParts :many
SELECT id, piece_id, position, label, count, length, length_unit, width, width_unit, thickness, thickness_unit
FROM part WHERE piece_id = ANY (@piece_ids::uuid[]) ORDER BY piece_id, position;

-- name: InsertLot :exec
INSERT INTO lot (id, source, purchase_date, on_scrap, taken_in_at)
VALUES (@id, @source, @purchase_date, @on_scrap, @taken_in_at);

-- name: InsertTerms :exec
INSERT INTO lot_terms (lot_id, version, price, split, reason, set_at)
VALUES (@lot_id, @version, @price, @split, @reason, @set_at);

-- name: InsertShares :exec
INSERT INTO lot_share (lot_id, version, position, piece_id, weight, share)
SELECT @lot_id::uuid, @version::bigint, unnest(@positions::integer[]), unnest(@piece_ids::uuid[]), unnest(@weights::bigint[]), unnest(@shares::bigint[]);

-- name: LockLot :exec
SELECT FROM lot WHERE id = @id FOR UPDATE;

-- name: GetLot :many
SELECT id, source, purchase_date, on_scrap, taken_in_at FROM lot WHERE id = @id;

-- name: ListLots :many
SELECT id, source, purchase_date, on_scrap, taken_in_at FROM lot WHERE id > @after ORDER BY id LIMIT @page_limit;

-- name: ListTerms :many
SELECT lot_id, version, price, split, reason, set_at FROM lot_terms WHERE lot_id = ANY (@lots::uuid[]) ORDER BY lot_id, version;

-- name: ListShares :many
SELECT lot_share.lot_id, lot_share.version, piece_id, tag, title, state, weight, share
FROM lot_share JOIN piece ON piece.id = piece_id
WHERE lot_share.lot_id = ANY (@lots::uuid[]) ORDER BY lot_share.lot_id, lot_share.version, position;
