-- name: LockEquipment :one
SELECT sqlc.embed(equipment) FROM equipment WHERE id = @id FOR NO KEY UPDATE;

-- name: HasEquipment :one
SELECT EXISTS (SELECT FROM equipment WHERE id = @id);

-- name: UpsertEquipment :exec
INSERT INTO equipment (id, display_name, name_key, kind, hourly_cost, service_hours, stage_kinds, station, retired, version)
VALUES (@id, @display_name, @name_key, @kind, @hourly_cost, @service_hours, @stage_kinds, @station, @retired, @version)
ON CONFLICT (id) DO UPDATE
SET display_name = excluded.display_name, name_key = excluded.name_key, kind = excluded.kind, hourly_cost = excluded.hourly_cost, service_hours = excluded.service_hours,
    stage_kinds = excluded.stage_kinds, station = excluded.station, retired = excluded.retired, version = excluded.version;

-- name: ListEquipment :many
SELECT sqlc.embed(e), coalesce(last.serviced_at, 'epoch')::timestamptz AS serviced_at, u.total::bigint AS total, u.since::bigint AS since, u.due_since::timestamptz AS due_since
FROM equipment e
LEFT JOIN LATERAL (SELECT s.serviced_at FROM equipment_service s WHERE s.equipment_id = e.id ORDER BY s.serviced_at DESC LIMIT 1) last ON true
LEFT JOIN LATERAL (
    SELECT coalesce(sum(r.seconds), 0) AS total, coalesce(max(r.since), 0) AS since,
        coalesce(min(r.started_at) FILTER (WHERE r.since >= e.service_hours * 3600::bigint), 'epoch') AS due_since
    FROM (
        SELECT x.seconds, x.started_at,
            sum(x.seconds) FILTER (WHERE last.serviced_at IS NULL OR x.started_at >= last.serviced_at) OVER (ORDER BY x.started_at, x.entry_id) AS since
        FROM equipment_use x WHERE x.equipment_id = e.id
    ) r
) u ON true
WHERE @retired_too::boolean OR NOT e.retired
ORDER BY e.name_key;

-- name: EquipmentAt :many
SELECT sqlc.embed(equipment) FROM equipment
WHERE NOT retired AND @stage_kind::text = ANY (stage_kinds) ORDER BY id;

-- name: InsertEquipmentUse :exec
INSERT INTO equipment_use (entry_id, equipment_id, piece_id, started_at, seconds)
VALUES (@entry_id, @equipment_id, @piece_id, @started_at, @seconds);

-- name: DeleteEquipmentUse :exec
DELETE FROM equipment_use WHERE entry_id = @entry_id;

-- name: ForgetEquipmentUse :exec
DELETE FROM equipment_use;

-- name: EquipmentUseOf :many
SELECT sqlc.embed(e), sum(u.seconds)::bigint AS seconds
FROM equipment_use u JOIN equipment e ON e.id = u.equipment_id WHERE u.piece_id = @piece_id
GROUP BY e.id ORDER BY e.name_key;

-- name: InsertService :exec
INSERT INTO equipment_service (id, equipment_id, serviced_at, serviced_by, note, cost_note, actor)
VALUES (@id, @equipment_id, @serviced_at, @serviced_by, @note, @cost_note, @actor);

-- name: ListServices :many
SELECT id, serviced_at, serviced_by, note, cost_note, actor FROM equipment_service
WHERE equipment_id = @equipment_id AND (serviced_at, id) < (@before_at::timestamptz, @before_id::uuid)
ORDER BY serviced_at DESC, id DESC LIMIT @page_limit;
