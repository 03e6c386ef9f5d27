-- All overhead rates, in the order they were recorded.
-- name: OverheadRates :many
SELECT id, department, stage_kinds, basis, per_hour, effective_day, effective_at, actor, recorded_at FROM overhead_rate ORDER BY recorded_at, id;

-- name: ListOverheadRates :many
SELECT id, department, stage_kinds, basis, per_hour, effective_day, effective_at, actor, recorded_at
FROM overhead_rate WHERE id > @after ORDER BY id LIMIT @page_limit;

-- name: InsertOverheadRate :exec
INSERT INTO overhead_rate (id, department, stage_kinds, basis, per_hour, effective_day, effective_at, actor, recorded_at)
VALUES (@id, @department, @stage_kinds, @basis, @per_hour, @effective_day, @effective_at, @actor, @recorded_at);

-- What was worked on stages of pieces.
-- name: StretchesOn :many
SELECT event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework,
       started_at, ended_at, occurred_at, recorded_at, indirect, whole_from, paused
FROM stretch WHERE piece_id = ANY (@pieces::uuid[]) AND stage_id = ANY (@stages::uuid[]) ORDER BY event_id, sign;

-- name: InsertOverheadActual :exec
INSERT INTO overhead_actual (id, day, occurred_at, what, amount, note, takes_back, reason, actor, recorded_at)
VALUES (@id, @day, @occurred_at, @what, @amount, @note, sqlc.narg(takes_back), @reason, @actor, @recorded_at);

-- name: GetOverheadActual :one
SELECT a.id, a.day, a.occurred_at, a.what, a.amount, a.note, a.takes_back, a.reason, a.actor, a.recorded_at, b.id AS taken_back_by
FROM overhead_actual a LEFT JOIN overhead_actual b ON b.takes_back = a.id WHERE a.id = @id;

-- Between two instants, if they are given.
-- name: ListOverheadActuals :many
SELECT a.id, a.day, a.occurred_at, a.what, a.amount, a.note, a.takes_back, a.reason, a.actor, a.recorded_at, b.id AS taken_back_by
FROM overhead_actual a LEFT JOIN overhead_actual b ON b.takes_back = a.id
WHERE a.id > @after AND a.occurred_at >= @since AND a.occurred_at < @before
ORDER BY a.id LIMIT @page_limit;

-- What events entered as overhead that was spent, or that it was not.
-- name: OverheadActualsOf :many
SELECT id, what, note, takes_back, reason FROM overhead_actual WHERE id = ANY (@ids::uuid[]) ORDER BY id;

-- name: AllOverheadActuals :many
SELECT id, occurred_at, amount, recorded_at FROM overhead_actual ORDER BY id;
