-- name: LockPeople :many
SELECT id, display_name, skills, skill_levels, working_days, days_off, stations, active_from, active_to, version, revision, role
FROM person WHERE id = ANY (@ids::uuid[]) ORDER BY id FOR NO KEY UPDATE;
