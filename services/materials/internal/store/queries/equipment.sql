-- name: LockEquipment :one
SELECT sqlc.embed(equipment) FROM equipment WHERE id = @id FOR NO KEY UPDATE;

-- name: HasEquipment :one
SELECT EXISTS (SELECT FROM equipment WHERE id = @id);

-- name: UpsertEquipment :exec
INSERT INTO equipment (id, display_name, name_key, kind, hourly_cost, service_hours, stage_kinds, station, retired, starting_hours, version)
VALUES (@id, @display_name, @name_key, @kind, @hourly_cost, @service_hours, @stage_kinds, @station, @retired, @starting_hours, @version)
ON CONFLICT (id) DO UPDATE
SET display_name = excluded.display_name, name_key = excluded.name_key, kind = excluded.kind, hourly_cost = excluded.hourly_cost, service_hours = excluded.service_hours,
    stage_kinds = excluded.stage_kinds, station = excluded.station, retired = excluded.retired, starting_hours = excluded.starting_hours, version = excluded.version;

-- name: CountUpEquipment :exec
UPDATE equipment SET version = @version WHERE id = @id;

-- name: EndSetting :exec
UPDATE equipment_setting SET held_until = greatest(held_from, @at::timestamptz) WHERE equipment_id = @equipment_id AND held_until IS NULL;

-- name: InsertSetting :exec
INSERT INTO equipment_setting (equipment_id, version, held_from, hourly_cost, stage_kinds, station, retired)
SELECT @equipment_id, @version, coalesce(max(s.held_until), @at::timestamptz), @hourly_cost, @stage_kinds, @station, @retired
FROM equipment_setting s WHERE s.equipment_id = @equipment_id;

-- name: ListEquipment :many
SELECT sqlc.embed(e), coalesce(last.serviced_at, 'epoch')::timestamptz AS serviced_at, u.since::bigint AS since,
    (CASE WHEN last.serviced_at IS NULL AND e.starting_hours >= e.service_hours
        THEN (SELECT min(s.held_from) FROM equipment_setting s WHERE s.equipment_id = e.id) ELSE u.due_since END)::timestamptz AS due_since
FROM equipment e
LEFT JOIN LATERAL (SELECT s.serviced_at FROM equipment_service s WHERE s.equipment_id = e.id ORDER BY s.serviced_at DESC LIMIT 1) last ON true
LEFT JOIN LATERAL (
    SELECT floor(coalesce(max(r.since), b.before)) AS since, coalesce(min(r.started_at) FILTER (WHERE r.since >= e.service_hours * 3600::bigint), 'epoch') AS due_since
    FROM (SELECT CASE WHEN last.serviced_at IS NULL THEN e.starting_hours * 3600::bigint ELSE 0 END AS before) b
    LEFT JOIN LATERAL (
        SELECT x.started_at, b.before + sum(extract(epoch FROM x.ended_at - greatest(x.started_at, last.serviced_at))) OVER (ORDER BY x.started_at, x.entry_id) AS since
        FROM equipment_ran x WHERE x.equipment_id = e.id AND (last.serviced_at IS NULL OR x.ended_at > last.serviced_at)
    ) r ON true
    GROUP BY b.before
) u ON true
WHERE @retired_too::boolean OR NOT e.retired
ORDER BY e.name_key;

-- name: EquipmentHours :many
SELECT equipment_id, hourly_cost, floor(extract(epoch FROM sum(ended_at - started_at)))::bigint AS seconds
FROM equipment_ran GROUP BY equipment_id, hourly_cost ORDER BY equipment_id, hourly_cost;

-- name: SettingsDuring :many
SELECT equipment_id, held_from, coalesce(held_until, @until)::timestamptz AS held_until, hourly_cost, stage_kinds, station, retired
FROM equipment_setting
WHERE held_from < @until::timestamptz AND (held_until IS NULL OR held_until > @since::timestamptz)
ORDER BY equipment_id, held_from;

-- name: InsertEquipmentUse :exec
INSERT INTO equipment_use (entry_id, equipment_id, piece_id, started_at, ended_at, hourly_cost)
VALUES (@entry_id, @equipment_id, @piece_id, @started_at, @ended_at, @hourly_cost);

-- name: DeleteEquipmentUse :exec
DELETE FROM equipment_use WHERE entry_id = @entry_id;

-- name: ForgetEquipmentUse :exec
DELETE FROM equipment_use;

-- name: EquipmentUseOf :many
SELECT sqlc.embed(e), r.hourly_cost, r.seconds::bigint AS seconds
FROM (
    SELECT x.equipment_id, x.hourly_cost, floor(extract(epoch FROM sum(x.ended_at - greatest(x.started_at, x.others_until)))) AS seconds
    FROM (
        SELECT u.equipment_id, u.hourly_cost, u.started_at, u.ended_at,
            max(u.ended_at) OVER (PARTITION BY u.equipment_id ORDER BY u.started_at, u.entry_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS others_until
        FROM equipment_use u WHERE u.piece_id = @piece_id
    ) x
    WHERE x.others_until IS NULL OR x.ended_at > x.others_until
    GROUP BY x.equipment_id, x.hourly_cost
) r JOIN equipment e ON e.id = r.equipment_id
ORDER BY e.name_key, r.hourly_cost;

-- name: InsertService :exec
INSERT INTO equipment_service (id, equipment_id, serviced_at, serviced_by, note, cost_note, actor)
VALUES (@id, @equipment_id, @serviced_at, @serviced_by, @note, @cost_note, @actor);

-- name: ListServices :many
SELECT id, serviced_at, serviced_by, note, cost_note, actor FROM equipment_service
WHERE equipment_id = @equipment_id AND (serviced_at, id) < (@before_at::timestamptz, @before_id::uuid)
ORDER BY serviced_at DESC, id DESC LIMIT @page_limit;
