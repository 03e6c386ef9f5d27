-- The plans of pieces.
-- name: StagesOf :many
SELECT stage_id, piece_id, kind, key, part_label, planned_ms, state, sent_back, done_at, held_ms FROM stage WHERE piece_id = ANY (@pieces::uuid[]) ORDER BY piece_id, stage_id;

-- name: SaveStages :exec
INSERT INTO stage (stage_id, piece_id, kind, key, part_label, planned_ms, state, sent_back, done_at, held_ms)
SELECT unnest(@stage_id::uuid[]), unnest(@piece_id::uuid[]), unnest(@kind::text[]), unnest(@key::text[]), unnest(@part_label::text[]),
       unnest(@planned_ms::bigint[]), unnest(@state::text[]), unnest(@sent_back::integer[]),
       nullif(unnest(@done_at::timestamptz[]), '0001-01-01 00:00:00+00'), nullif(unnest(@held_ms::bigint[]), -1)
ON CONFLICT (stage_id) DO UPDATE SET kind = excluded.kind, key = excluded.key, part_label = excluded.part_label,
    planned_ms = excluded.planned_ms, state = excluded.state, sent_back = excluded.sent_back, done_at = excluded.done_at, held_ms = excluded.held_ms;

-- All kinds of stage that plans have, or had.
-- name: StageKinds :many
SELECT DISTINCT kind FROM stage ORDER BY kind;
