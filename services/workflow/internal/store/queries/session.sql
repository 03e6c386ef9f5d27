-- name: InsertSession :exec
INSERT INTO session (id, person_id, secret_sha, label, label_key, role, read_only, methods, actor, created_at, used_at, expires_at)
VALUES (@id, @person_id, @secret_sha, @label, @label_key, @role, @read_only, @methods, @actor, @created_at, @used_at, @expires_at);

-- name: LockSession :one
SELECT s.id, s.person_id, s.label, coalesce(s.role, p.role)::text AS role, s.read_only, s.methods, s.expires_at, s.ended_at,
       coalesce(p.display_name, s.label)::text AS display_name, p.active_from, p.active_to
FROM session s LEFT JOIN person p ON p.id = s.person_id WHERE s.secret_sha = @secret_sha FOR NO KEY UPDATE OF s;

-- name: UseSession :exec
UPDATE session SET used_at = @used_at, expires_at = @expires_at WHERE id = @id;

-- name: GetSession :one
SELECT id, person_id, expires_at, ended_at FROM session WHERE id = @id FOR NO KEY UPDATE;

-- name: EndSession :exec
UPDATE session SET ended_at = @ended_at WHERE id = @id AND ended_at IS NULL;

-- name: EndSessionBySecret :exec
UPDATE session SET ended_at = @ended_at WHERE secret_sha = @secret_sha AND person_id IS NOT NULL AND ended_at IS NULL;

-- name: EndSessionsOf :exec
UPDATE session SET ended_at = @ended_at WHERE person_id = @person_id::uuid AND ended_at IS NULL AND id <> @but;

-- What ended long ago is of no use to anybody.
-- name: ForgetSessions :exec
DELETE FROM session WHERE person_id IS NOT NULL AND (ended_at < @before::timestamptz OR expires_at < @before);

-- Ids ascend with the time at which they were made.
-- name: ListSessions :many
SELECT s.id, s.person_id, p.display_name, s.label, s.created_at, s.used_at, s.expires_at
FROM session s JOIN person p ON p.id = s.person_id
WHERE s.ended_at IS NULL AND s.expires_at > @now AND (sqlc.narg(person)::uuid IS NULL OR s.person_id = sqlc.narg(person))
  AND (sqlc.narg(before)::uuid IS NULL OR s.id < sqlc.narg(before))
ORDER BY s.id DESC LIMIT @page_limit;

-- name: ListTokens :many
SELECT id, label, role, read_only, methods, actor, created_at, used_at, expires_at
FROM session WHERE person_id IS NULL AND ended_at IS NULL AND expires_at > @now AND (sqlc.narg(before)::uuid IS NULL OR id < sqlc.narg(before))
ORDER BY id DESC LIMIT @page_limit;

-- A label that a program had which may no longer come in is free again.
-- name: EndExpiredTokens :exec
UPDATE session SET ended_at = expires_at WHERE person_id IS NULL AND ended_at IS NULL AND expires_at <= @now;
