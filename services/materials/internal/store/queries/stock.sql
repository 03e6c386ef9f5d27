-- name: InsertLot :exec
INSERT INTO lot (id, product_id, quantity, quantity_left, cost, cost_left, received_at, supplier)
VALUES (@id, @product_id, @quantity, @quantity_left, @cost, @cost_left, @received_at, @supplier);

-- name: UpdateLot :exec
UPDATE lot SET quantity_left = @quantity_left, cost_left = @cost_left WHERE id = @id;

-- name: InsertMovement :exec
INSERT INTO movement (product_id, lot_id, kind, quantity, cost, issue_id, actor, at)
VALUES (@product_id, @lot_id, @kind, @quantity, @cost, @issue_id, @actor, @at);

-- name: InsertIssue :exec
INSERT INTO issue (id, product_id, piece_id, stage_id, stage_kind, pass, actor, issued_at)
VALUES (@id, @product_id, @piece_id, @stage_id, @stage_kind, @pass, @actor, @issued_at);

-- name: InsertTakeBack :exec
INSERT INTO take_back (issue_id, reason, actor, taken_back_at) VALUES (@issue_id, @reason, @actor, @taken_back_at);

-- name: MakePiece :exec
INSERT INTO piece (id, version) VALUES (@id, 0) ON CONFLICT (id) DO NOTHING;

-- name: LockPiece :exec
SELECT 1 FROM piece WHERE id = @id FOR UPDATE;

-- By id, as all who need several do.
-- name: MakePieces :exec
INSERT INTO piece (id, version) SELECT unnest(@ids::uuid[]), 0 ON CONFLICT (id) DO NOTHING;

-- name: LockPieces :many
SELECT id, version FROM piece WHERE id = ANY (@ids::uuid[]) ORDER BY id FOR UPDATE;

-- name: LockPieceOfIssue :exec
SELECT 1 FROM piece JOIN issue ON issue.piece_id = piece.id
WHERE issue.id = @issue_id AND issue.product_id = @product_id FOR UPDATE OF piece;

-- name: UpdatePiece :exec
UPDATE piece SET version = @version WHERE id = @id;

-- name: GetProductWithOpenLots :many
SELECT sqlc.embed(product), sqlc.embed(piece), lot.id AS lot_id, lot.quantity, lot.quantity_left, lot.cost, lot.cost_left, lot.received_at, lot.supplier
FROM product JOIN piece ON piece.id = @piece_id LEFT JOIN lot ON lot.product_id = product.id AND lot.quantity_left > 0
WHERE product.id = @id ORDER BY lot.received_at, lot.id;

-- name: ListOpenLots :many
SELECT sqlc.embed(lot)
FROM lot WHERE product_id = @product_id AND quantity_left > 0 ORDER BY received_at, id;

-- name: ListLots :many
SELECT sqlc.embed(lot)
FROM lot
WHERE product_id = @product_id AND (received_at, id) > (@after_at::timestamptz, @after_id::uuid)
  AND (quantity_left > 0 OR @used_up_too::boolean)
ORDER BY received_at, id LIMIT @page_limit;

-- name: GetIssue :one
SELECT sqlc.embed(product), sqlc.embed(piece), sqlc.embed(issue), take_back.reason, take_back.actor AS taken_back_by, take_back.taken_back_at
FROM issue JOIN product ON product.id = issue.product_id JOIN piece ON piece.id = issue.piece_id
    LEFT JOIN take_back ON take_back.issue_id = issue.id
WHERE issue.id = @id AND issue.product_id = @product_id;

-- name: ListIssues :many
SELECT sqlc.embed(product), sqlc.embed(piece), sqlc.embed(issue), take_back.reason, take_back.actor AS taken_back_by, take_back.taken_back_at
FROM issue JOIN product ON product.id = issue.product_id JOIN piece ON piece.id = issue.piece_id
    LEFT JOIN take_back ON take_back.issue_id = issue.id
WHERE (issue.issued_at, issue.id) < (@before_at::timestamptz, @before_id::uuid)
  AND (sqlc.narg(product_id)::uuid IS NULL OR issue.product_id = sqlc.narg(product_id))
  AND (sqlc.narg(piece_id)::uuid IS NULL OR issue.piece_id = sqlc.narg(piece_id))
ORDER BY issue.issued_at DESC, issue.id DESC LIMIT @page_limit;

-- What issues drew, each beside its lot as it is now.
-- name: ListDraws :many
SELECT movement.issue_id::uuid AS issue_id, (-movement.quantity)::numeric AS quantity, (-movement.cost)::bigint AS cost, sqlc.embed(lot)
FROM movement JOIN lot ON lot.id = movement.lot_id
WHERE movement.issue_id = ANY (@issues::uuid[]) AND movement.kind = 'issue' ORDER BY movement.id;
