-- What the stages of pieces are called.
-- name: StagesCalled :many
SELECT id, key, part_label FROM stage WHERE piece_id = ANY (@pieces::uuid[]);

-- name: PartsCalled :many
SELECT id, label FROM part WHERE piece_id = ANY (@pieces::uuid[]);

-- name: BatchesCalled :many
SELECT id, display_name FROM batch WHERE id = ANY (@batches::uuid[]);
