-- name: LockBatch :exec
SELECT FROM batch WHERE id = @id FOR UPDATE;

-- name: GetBatch :one
SELECT id, display_name, state, split, stage_kind, product_id, product_name, formed_at, ended_at, version FROM batch WHERE id = @id;

-- name: SharesOf :many
SELECT b.batch_id, b.stage_id, b.piece_id, b.position, b.pass, b.weight, s.key, s.part_label, p.tag
FROM batch_stage b JOIN stage s ON s.id = b.stage_id JOIN piece p ON p.id = b.piece_id
WHERE b.batch_id = ANY (@ids::uuid[]) ORDER BY b.batch_id, b.position;
