-- name: NextTag :one
UPDATE tag_counter SET last = last + 1 RETURNING last;

-- name: KeepTag :exec
UPDATE tag_counter SET last = greatest(last, @tag::integer);

-- name: InsertPiece :exec
INSERT INTO piece (id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version)
VALUES (@id, @tag, @title, @kind, @price, @source, @purchase_date, @client, @state, @scrap_reason, @taken_in_at, @version);

-- name: InsertPart :exec
INSERT INTO part (id, piece_id, position, label, count, length, length_unit, width, width_unit, thickness, thickness_unit)
VALUES (@id, @piece_id, @position, @label, @count, @length, @length_unit, @width, @width_unit, @thickness, @thickness_unit);

-- name: UpdatePiece :exec
UPDATE piece SET state = @state, scrap_reason = @scrap_reason, version = @version WHERE id = @id;

-- name: LockPiece :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version
FROM piece WHERE id = @id FOR UPDATE;

-- name: GetPiece :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version
FROM piece WHERE id = @id;

-- name: GetPieceByTag :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version
FROM piece WHERE tag = @tag;

-- name: ListPieces :many
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version
FROM piece WHERE tag > @after_tag ORDER BY tag LIMIT @page_limit;

-- name: ListParts :many
SELECT id, piece_id, position, label, count, length, length_unit, width, width_unit, thickness, thickness_unit
FROM part WHERE piece_id = ANY (@piece_ids::uuid[]) ORDER BY piece_id, position;
