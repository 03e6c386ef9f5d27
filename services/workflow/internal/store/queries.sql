-- name: InsertPerson :exec
INSERT INTO person (id, display_name, name_key, skills, version) VALUES (@id, @display_name, @name_key, @skills, @version);

-- name: UpdatePerson :exec
UPDATE person SET display_name = @display_name, name_key = @name_key, skills = @skills, version = @version WHERE id = @id;

-- name: GetPerson :one
SELECT id, display_name, skills, version FROM person WHERE id = @id;

-- name: ListPeople :many
SELECT id, display_name, skills, version FROM person WHERE id > @after ORDER BY id LIMIT @page_limit;

-- name: LockRoute :one
SELECT id, word, version FROM route WHERE word = @word FOR UPDATE;

-- name: UpsertRoute :exec
INSERT INTO route (id, word, version) VALUES (@id, @word, @version)
ON CONFLICT (id) DO UPDATE SET version = excluded.version;

-- name: DeleteSteps :exec
DELETE FROM step WHERE route_id = @route_id;

-- name: InsertStep :exec
INSERT INTO step (route_id, position, key, kind, scope, after_keys, skill, attended_minutes, unattended_minutes)
VALUES (@route_id, @position, @key, @kind, @scope, @after_keys, @skill, @attended_minutes, @unattended_minutes);

-- name: RoutesByWord :many
SELECT id, word, version FROM route WHERE word = ANY (@words::text[]) ORDER BY word;

-- name: ListRoutes :many
SELECT id, word, version FROM route WHERE word > @after ORDER BY word LIMIT @page_limit;

-- name: StepsOf :many
SELECT route_id, position, key, kind, scope, after_keys, skill, attended_minutes, unattended_minutes
FROM step WHERE route_id = ANY (@route_ids::uuid[]) ORDER BY route_id, position;

-- name: EnsurePiece :exec
INSERT INTO piece (id, tag, scrapped, planned, version) VALUES (@id, @tag, false, false, 0)
ON CONFLICT (id) DO UPDATE SET tag = excluded.tag;

-- name: LockPiece :exec
SELECT FROM piece WHERE id = @id FOR UPDATE;

-- name: LockPieceOfOpenClock :exec
SELECT FROM piece WHERE id = (
    SELECT piece_id FROM clock_entry WHERE person_id = @person AND ended_at IS NULL AND NOT superseded) FOR UPDATE;

-- name: LockPerson :exec
SELECT FROM person WHERE id = @id FOR NO KEY UPDATE;

-- name: GetPiece :one
SELECT id, tag, scrapped, planned, version FROM piece WHERE id = @id;

-- name: UpdatePiece :exec
UPDATE piece SET scrapped = @scrapped, planned = @planned, version = @version WHERE id = @id;

-- name: ScrapPiece :exec
INSERT INTO piece (id, tag, scrapped, planned, version) VALUES (@id, 0, true, false, 0)
ON CONFLICT (id) DO UPDATE SET scrapped = true;

-- name: ForgetScraps :exec
UPDATE piece SET scrapped = false WHERE scrapped;

-- name: InsertStage :exec
INSERT INTO stage (id, piece_id, part_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass)
VALUES (@id, @piece_id, @part_id, @part_label, @key, @kind, @skill, @position, @attended_minutes, @unattended_minutes, @after_ids, @pass);

-- name: UpdateStage :exec
UPDATE stage SET pass = @pass, finished_at = @finished_at, assignee_id = @assignee_id WHERE id = @id;

-- name: StagesOf :many
SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.position, s.attended_minutes, s.unattended_minutes,
       s.after_ids, s.pass, s.finished_at, s.assignee_id, coalesce(w.display_name, '') AS assigned_to
FROM stage s LEFT JOIN person w ON w.id = s.assignee_id
WHERE s.piece_id = @piece_id ORDER BY s.position;

-- name: StageByID :one
SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.position, s.attended_minutes, s.unattended_minutes,
       s.after_ids, s.pass, s.finished_at, s.assignee_id, coalesce(w.display_name, '') AS assigned_to
FROM stage s LEFT JOIN person w ON w.id = s.assignee_id
WHERE s.id = @id;

-- name: OnTheClock :many
SELECT c.stage_id, w.display_name FROM clock_entry c JOIN person w ON w.id = c.person_id
WHERE c.piece_id = @piece_id AND c.ended_at IS NULL AND NOT c.superseded ORDER BY w.display_name;

-- Everything a clock-on is decided from, in one row. An unknown stage or person leaves
-- its columns null.
-- name: ClockOnFacts :one
SELECT p.id AS piece_id, p.tag, p.scrapped, p.version,
       s.id AS stage_id, s.part_label, s.key, s.kind, s.skill, s.pass, s.finished_at, s.assignee_id, a.display_name AS assigned_to,
       w.id AS person_id, w.display_name, w.skills,
       o.id AS open_id, o.started_at AS open_since, os.key AS open_key, os.part_label AS open_part, op.tag AS open_tag,
       ARRAY (SELECT CASE b.part_label WHEN '' THEN b.key ELSE b.key || ' (' || b.part_label || ')' END
              FROM stage b WHERE b.id = ANY (s.after_ids) AND b.finished_at IS NULL ORDER BY b.position)::text[] AS open_before
FROM (SELECT) AS always
LEFT JOIN stage s ON s.id = @stage::uuid
LEFT JOIN piece p ON p.id = s.piece_id
LEFT JOIN person a ON a.id = s.assignee_id
LEFT JOIN person w ON w.id = @person::uuid
LEFT JOIN clock_entry o ON o.person_id = w.id AND o.ended_at IS NULL AND NOT o.superseded
LEFT JOIN stage os ON os.id = o.stage_id
LEFT JOIN piece op ON op.id = o.piece_id;

-- name: InsertEntry :exec
INSERT INTO clock_entry (id, person_id, piece_id, stage_id, pass, started_at, ended_at, corrects, superseded, actor, reason)
VALUES (@id, @person_id, @piece_id, @stage_id, @pass, @started_at, @ended_at, @corrects, @superseded, @actor, @reason);

-- name: EndEntry :exec
UPDATE clock_entry SET ended_at = @ended_at WHERE id = @id;

-- name: SupersedeEntry :exec
UPDATE clock_entry SET superseded = true WHERE id = @id;

-- name: OpenEntry :one
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, s.kind, s.key, s.part_label, c.pass, c.started_at, c.ended_at,
       c.corrects, c.superseded, c.actor, c.reason, p.tag AS piece_tag, p.scrapped AS piece_scrapped, p.version AS piece_version
FROM clock_entry c JOIN person w ON w.id = c.person_id JOIN stage s ON s.id = c.stage_id JOIN piece p ON p.id = c.piece_id
WHERE c.person_id = @person AND c.ended_at IS NULL AND NOT c.superseded;

-- name: EntryByID :one
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, s.kind, s.key, s.part_label, c.pass, c.started_at, c.ended_at,
       c.corrects, c.superseded, c.actor, c.reason, p.tag AS piece_tag, p.scrapped AS piece_scrapped, p.version AS piece_version
FROM clock_entry c JOIN person w ON w.id = c.person_id JOIN stage s ON s.id = c.stage_id JOIN piece p ON p.id = c.piece_id
WHERE c.id = @id;

-- name: ListEntries :many
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, s.kind, s.key, s.part_label, c.pass, c.started_at, c.ended_at,
       c.corrects, c.superseded, c.actor, c.reason, p.tag AS piece_tag, p.scrapped AS piece_scrapped, p.version AS piece_version
FROM clock_entry c JOIN person w ON w.id = c.person_id JOIN stage s ON s.id = c.stage_id JOIN piece p ON p.id = c.piece_id
WHERE (sqlc.narg(person)::uuid IS NULL OR c.person_id = sqlc.narg(person))
  AND (sqlc.narg(piece)::uuid IS NULL OR c.piece_id = sqlc.narg(piece))
  AND (c.started_at, c.id) > (@after_start::timestamptz, @after_id::uuid)
ORDER BY c.started_at, c.id LIMIT @page_limit;
