-- name: LockBatch :exec
SELECT FROM batch WHERE id = @id FOR UPDATE;

-- name: GetBatch :one
SELECT id, display_name, name_key, state, split, stage_kind, product_id, product_name, formed_at, ended_at, version FROM batch WHERE id = @id;

-- Ids ascend with the time at which they were made.
-- name: ListBatches :many
SELECT id, display_name, name_key, state, split, stage_kind, product_id, product_name, formed_at, ended_at, version
FROM batch WHERE (state = 'open' OR @include_ended::boolean) AND (sqlc.narg(before)::uuid IS NULL OR id < sqlc.narg(before))
ORDER BY id DESC LIMIT @page_limit;

-- name: SharesOf :many
SELECT b.batch_id, b.stage_id, b.piece_id, b.position, b.pass, b.weight, s.key, s.part_label, p.tag, b.left_at
FROM batch_stage b JOIN stage s ON s.id = b.stage_id JOIN piece p ON p.id = b.piece_id
WHERE b.batch_id = ANY (@ids::uuid[]) ORDER BY b.batch_id, b.position;

-- name: InsertBatch :exec
INSERT INTO batch (id, display_name, name_key, state, split, stage_kind, product_id, product_name, formed_at, ended_at, version)
VALUES (@id, @display_name, @name_key, @state, @split, @stage_kind, @product_id, @product_name, @formed_at, @ended_at, @version);

-- name: InsertShare :exec
INSERT INTO batch_stage (batch_id, stage_id, piece_id, position, pass, weight)
VALUES (@batch_id, @stage_id, @piece_id, @position, @pass, @weight);

-- name: UpdateBatch :exec
UPDATE batch SET state = @state, ended_at = @ended_at, version = @version WHERE id = @id;

-- name: LeaveBatch :exec
UPDATE batch_stage SET left_at = @left_at::timestamptz WHERE batch_id = @batch_id AND stage_id = @stage_id;

-- name: FreeStage :exec
UPDATE stage SET batch_id = NULL WHERE id = @id;

-- name: FreeStages :exec
UPDATE stage SET batch_id = NULL WHERE batch_id = @batch_id::uuid;

-- name: OnTheClockAt :many
SELECT DISTINCT w.display_name FROM clock_entry c JOIN person w ON w.id = c.person_id
WHERE c.stage_id = ANY (@stages::uuid[]) AND c.ended_at IS NULL AND NOT c.superseded ORDER BY w.display_name;
