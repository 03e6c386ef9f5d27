-- Everything a clock-on is decided from, in one row; whatever only a refusal says is read when
-- there is one. An unknown stage or person leaves its columns null. Of a person's entries that count the last one to begin is also the last
-- to end: if that one does not lie at the times in question, none does.
-- name: ClockOnFacts :one
SELECT p.id AS piece_id, p.tag, p.taken_in_at, p.scrapped, p.version,
       s.id AS stage_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.send_back_times, s.finished_at, s.assignee_id,
       s.needs, s.cautions, s.disturbs_old, s.zone_id, s.coating, s.skill_level, s.station, s.product_id, s.batch_id, s.helper_ids, g.tests, g.wet,
       (SELECT r.cautions FROM acknowledgement r WHERE r.stage_id = s.id AND r.person_id = w.id
          AND r.pass = 1 + (SELECT count(*) FROM unnest(s.send_back_times) AS back WHERE back <= @started::timestamptz))::text[] AS has_read,
       w.id AS person_id, w.display_name, w.skills, w.skill_levels, w.stations, w.active_from, w.active_to, w.version AS person_version,
       p.promised_at, p.value, p.scrapped_at, p.sold_at,
       EXISTS (SELECT FROM placement out WHERE out.piece_id = p.id AND out.to_at IS NULL AND out.outside_id IS NOT NULL AND (out.part_id = s.part_id OR s.part_id IS NULL OR out.part_id = '00000000-0000-0000-0000-000000000000')) AS away,
       o.id AS other_id,
       ARRAY (SELECT CASE b.part_label WHEN '' THEN b.key ELSE b.key || ' (' || b.part_label || ')' END
              FROM stage b WHERE b.id = ANY (s.after_ids) AND b.finished_at IS NULL ORDER BY b.position)::text[] AS open_before
FROM (SELECT) AS always
LEFT JOIN stage s ON s.id = @stage::uuid
LEFT JOIN piece p ON p.id = s.piece_id
LEFT JOIN ground g ON g.piece_id = s.piece_id
LEFT JOIN person w ON w.id = @person::uuid
LEFT JOIN clock_entry o ON o.id = (
    SELECT c.id FROM clock_entry c
    WHERE c.person_id = w.id AND NOT c.superseded AND c.started_at < coalesce(sqlc.narg(ended)::timestamptz, 'infinity')
    ORDER BY c.started_at DESC LIMIT 1) AND (o.ended_at IS NULL OR o.ended_at > @started::timestamptz);

-- name: InsertEntry :exec
INSERT INTO clock_entry (id, person_id, piece_id, stage_id, pass, started_at, ended_at, corrects, superseded, actor, reason,
                         indirect, batch_id, stretch_id, stretch_from, stretch_to, held, station_id, paused, device, skew_ms)
VALUES (@id, @person_id, @piece_id, @stage_id, @pass, @started_at, @ended_at, @corrects, @superseded, @actor, @reason,
        @indirect, @batch_id, @stretch_id, @stretch_from, @stretch_to, @held, @station_id, @paused, @device, @skew_ms);

-- name: EndEntry :exec
UPDATE clock_entry SET started_at = @started_at, ended_at = @ended_at, stretch_to = @stretch_to, held = false, paused = @paused, device = @device, skew_ms = @skew_ms WHERE id = @id;

-- name: SupersedeEntry :exec
UPDATE clock_entry SET superseded = true, superseded_by = @superseded_by, superseded_at = @superseded_at, superseded_reason = @superseded_reason WHERE id = @id;

-- What a person is on: one entry, or all of a stretch on a batch, in their order.
-- name: OpenEntries :many
SELECT * FROM entry WHERE person_id = @person AND ended_at IS NULL AND NOT superseded ORDER BY held, id;

-- name: EntryByID :one
SELECT * FROM entry WHERE id = @id;

-- name: EntriesByIDs :many
SELECT * FROM entry WHERE id = ANY (@ids::uuid[]) ORDER BY started_at, id;

-- Those that count and lie between two instants, or from the first on.
-- name: EntriesBetween :many
SELECT * FROM entry WHERE id IN (
    SELECT c.id FROM clock_entry c
    WHERE c.person_id = @person AND NOT c.superseded AND NOT c.held AND c.span && tstzrange(@started::timestamptz, sqlc.narg(ended)::timestamptz))
ORDER BY started_at, id;

-- The entries of a stretch on a batch that count, in their order.
-- name: EntriesOfStretch :many
SELECT * FROM entry WHERE stretch_id = @stretch::uuid AND NOT superseded ORDER BY started_at, id;

-- A person's last entry to begin, of those that count; the last of a stretch on a batch stands for it.
-- name: LastEntry :one
SELECT * FROM entry WHERE person_id = @person AND NOT superseded ORDER BY started_at DESC, id DESC LIMIT 1;

-- name: ListEntries :many
SELECT * FROM entry
WHERE (sqlc.narg(person)::uuid IS NULL OR person_id = sqlc.narg(person))
  AND (sqlc.narg(piece)::uuid IS NULL OR piece_id = sqlc.narg(piece))
  AND (sqlc.narg(from_time)::timestamptz IS NULL OR started_at >= sqlc.narg(from_time))
  AND (sqlc.narg(to_time)::timestamptz IS NULL OR started_at < sqlc.narg(to_time))
  AND (started_at, id) > (@after_start::timestamptz, @after_id::uuid)
ORDER BY started_at, id LIMIT @page_limit;

-- What a correction would overlap, found as ClockOnFacts does.
-- name: EntryBeside :one
SELECT * FROM entry WHERE id = (
    SELECT c.id FROM clock_entry c
    WHERE c.person_id = @person AND c.id <> ALL (@but::uuid[]) AND NOT c.superseded AND c.started_at < @ended::timestamptz
    ORDER BY c.started_at DESC LIMIT 1) AND (ended_at IS NULL OR ended_at > @started::timestamptz);

-- name: LastWork :one
SELECT w.display_name, c.ended_at
FROM clock_entry c JOIN person w ON w.id = c.person_id JOIN stage s ON s.id = c.stage_id
WHERE c.piece_id = @piece::uuid AND c.stage_id = @stage::uuid AND c.pass = s.pass AND NOT c.superseded AND c.ended_at IS NOT NULL
ORDER BY c.ended_at DESC LIMIT 1;
