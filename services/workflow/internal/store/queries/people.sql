-- name: InsertPerson :exec
INSERT INTO person (id, display_name, name_key, skills, skill_levels, working_days, days_off, stations, active_from, active_to, version, revision)
VALUES (@id, @display_name, @name_key, @skills, @skill_levels, @working_days, @days_off, @stations, @active_from, @active_to, @version, @revision);

-- name: UpdatePerson :exec
UPDATE person SET display_name = @display_name, name_key = @name_key, skills = @skills, skill_levels = @skill_levels, working_days = @working_days,
    days_off = @days_off, stations = @stations, active_from = @active_from, active_to = @active_to, version = @version, revision = @revision
WHERE id = @id;

-- name: GetPerson :one
SELECT id, display_name, skills, skill_levels, working_days, days_off, stations, active_from, active_to, version, revision, role FROM person WHERE id = @id;

-- name: ListPeople :many
SELECT id, display_name, skills, skill_levels, working_days, days_off, stations, active_from, active_to, version, revision, role
FROM person WHERE id > @after ORDER BY id LIMIT @page_limit;

-- name: LockPerson :exec
SELECT FROM person WHERE id = @id FOR NO KEY UPDATE;

-- name: SetPersonVersion :exec
UPDATE person SET version = @version WHERE id = @id;

-- Another entry of a person's at some times, found as ClockOnFacts does.
-- name: OtherEntry :one
SELECT * FROM entry WHERE id = (
    SELECT c.id FROM clock_entry c
    WHERE c.person_id = @person AND NOT c.superseded AND c.started_at < coalesce(sqlc.narg(ended)::timestamptz, 'infinity')
    ORDER BY c.started_at DESC LIMIT 1) AND (ended_at IS NULL OR ended_at > @started::timestamptz);
