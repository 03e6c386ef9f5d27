-- name: LockRoute :one
SELECT id, word, version FROM route WHERE word = @word FOR UPDATE;

-- name: UpsertRoute :exec
INSERT INTO route (id, word, version) VALUES (@id, @word, @version)
ON CONFLICT (id) DO UPDATE SET version = excluded.version;

-- name: DeleteSteps :exec
DELETE FROM step WHERE route_id = @route_id;

-- name: InsertStep :exec
INSERT INTO step (route_id, position, key, kind, scope, after_keys, skill, skill_level, station, attended_minutes, unattended_minutes)
VALUES (@route_id, @position, @key, @kind, @scope, @after_keys, @skill, @skill_level, @station, @attended_minutes, @unattended_minutes);

-- name: RoutesByWord :many
SELECT id, word, version FROM route WHERE word = ANY (@words::text[]) ORDER BY word;

-- name: ListRoutes :many
SELECT id, word, version FROM route WHERE word > @after ORDER BY word LIMIT @page_limit;

-- name: StepsOf :many
SELECT route_id, position, key, kind, scope, after_keys, skill, skill_level, station, attended_minutes, unattended_minutes
FROM step WHERE route_id = ANY (@route_ids::uuid[]) ORDER BY route_id, position;
