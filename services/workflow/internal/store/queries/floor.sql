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

-- name: EnsurePiece :exec
INSERT INTO piece (id, tag, taken_in_at, scrapped, planned, version) VALUES (@id, @tag, @taken_in_at, false, false, 0)
ON CONFLICT (id) DO UPDATE SET tag = excluded.tag, taken_in_at = excluded.taken_in_at;

-- name: LockPiece :exec
SELECT FROM piece WHERE id = @id FOR UPDATE;

-- name: LockPiecesOfOpenClock :many
SELECT id, tag, taken_in_at, scrapped, planned, version, promised_at, value FROM piece WHERE id IN (
    SELECT piece_id FROM clock_entry WHERE person_id = @person AND ended_at IS NULL AND NOT superseded) OR id = ANY (@also::uuid[]) ORDER BY id FOR UPDATE;

-- name: LockPieces :many
SELECT id, tag, taken_in_at, scrapped, planned, version, promised_at, value FROM piece WHERE id = ANY (@ids::uuid[]) ORDER BY id FOR UPDATE;

-- name: GetPiece :one
SELECT id, tag, taken_in_at, scrapped, planned, version, promised_at, value FROM piece WHERE id = @id;

-- name: UpdatePiece :exec
UPDATE piece SET scrapped = @scrapped, planned = @planned, version = @version WHERE id = @id;

-- name: PromisePiece :exec
UPDATE piece SET promised_at = @promised_at, value = @value WHERE id = @id;

-- name: SavePart :exec
INSERT INTO part (piece_id, id, label, count) VALUES (@piece_id, @id, @label, @count)
ON CONFLICT (piece_id, id) DO UPDATE SET label = excluded.label, count = excluded.count;

-- name: PartsOf :many
SELECT id, label, count FROM part WHERE piece_id = @piece_id ORDER BY label, id;

-- name: ScrapPiece :exec
INSERT INTO piece (id, tag, scrapped, planned, version) VALUES (@id, 0, true, false, 0)
ON CONFLICT (id) DO UPDATE SET scrapped = true;

-- name: ForgetScraps :exec
UPDATE piece SET scrapped = false WHERE scrapped;

-- name: InsertStage :exec
INSERT INTO stage (id, piece_id, part_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass, send_back_times,
                   grit, product_id, product_name, station, needs, latest_minutes, cautions, disturbs_old, why, zone_id, coating, wet_film_um, area_m2, skill_level)
VALUES (@id, @piece_id, @part_id, @part_label, @key, @kind, @skill, @position, @attended_minutes, @unattended_minutes, @after_ids, @pass, @send_back_times,
        @grit, @product_id, @product_name, @station, @needs, @latest_minutes, @cautions, @disturbs_old, @why, @zone_id, @coating, @wet_film_um, @area_m2, @skill_level);

-- name: UpdateStage :exec
UPDATE stage SET pass = @pass, send_back_times = @send_back_times, finished_at = @finished_at, assignee_id = @assignee_id,
    helper_ids = @helper_ids, batch_id = @batch_id
WHERE id = @id;

-- name: StagesOf :many
SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.position, s.attended_minutes, s.unattended_minutes,
       s.after_ids, s.send_back_times, s.finished_at, s.assignee_id, coalesce(w.display_name, '') AS assigned_to,
       s.grit, s.product_id, s.product_name, s.station, s.needs, s.latest_minutes, s.cautions, s.disturbs_old, s.why,
       s.zone_id, s.coating, s.wet_film_um, s.area_m2, s.skill_level, s.batch_id, s.helper_ids,
       ARRAY (SELECT h.display_name FROM unnest(s.helper_ids) WITH ORDINALITY AS u (id, nth) JOIN person h ON h.id = u.id ORDER BY u.nth)::text[] AS helper_names
FROM stage s LEFT JOIN person w ON w.id = s.assignee_id
WHERE s.piece_id = @piece_id ORDER BY s.position;

-- name: StageByID :one
SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.position, s.attended_minutes, s.unattended_minutes,
       s.after_ids, s.send_back_times, s.finished_at, s.assignee_id, coalesce(w.display_name, '') AS assigned_to,
       s.grit, s.product_id, s.product_name, s.station, s.needs, s.latest_minutes, s.cautions, s.disturbs_old, s.why,
       s.zone_id, s.coating, s.wet_film_um, s.area_m2, s.skill_level, s.batch_id, s.helper_ids,
       ARRAY (SELECT h.display_name FROM unnest(s.helper_ids) WITH ORDINALITY AS u (id, nth) JOIN person h ON h.id = u.id ORDER BY u.nth)::text[] AS helper_names
FROM stage s LEFT JOIN person w ON w.id = s.assignee_id
WHERE s.id = @id;

-- name: OnTheClock :many
SELECT c.stage_id::uuid AS stage_id, c.person_id, w.display_name FROM clock_entry c JOIN person w ON w.id = c.person_id
WHERE c.piece_id = @piece_id::uuid AND c.ended_at IS NULL AND NOT c.superseded ORDER BY w.display_name;

-- Everything a clock-on is decided from, in one row. An unknown stage or person leaves
-- its columns null. Of a person's entries that count the last one to begin is also the last
-- to end: if that one does not lie at the times in question, none does.
-- name: ClockOnFacts :one
SELECT p.id AS piece_id, p.tag, p.taken_in_at, p.scrapped, p.version,
       s.id AS stage_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.send_back_times, s.finished_at, s.assignee_id, a.display_name AS assigned_to,
       s.needs, s.cautions, s.disturbs_old, s.zone_id, s.coating, s.skill_level, s.station, s.product_id, s.batch_id, s.helper_ids, g.tests, g.wet,
       (SELECT r.cautions FROM acknowledgement r WHERE r.stage_id = s.id AND r.person_id = w.id
          AND r.pass = 1 + (SELECT count(*) FROM unnest(s.send_back_times) AS back WHERE back <= @started::timestamptz))::text[] AS has_read,
       w.id AS person_id, w.display_name, w.skills, w.skill_levels, w.stations, w.active_from, w.active_to, w.version AS person_version,
       p.promised_at, p.value,
       EXISTS (SELECT FROM placement out WHERE out.piece_id = p.id AND out.to_at IS NULL AND out.outside_id IS NOT NULL AND (out.part_id = s.part_id OR s.part_id IS NULL OR out.part_id = '00000000-0000-0000-0000-000000000000')) AS away,
       o.id AS other_id, o.started_at AS other_start, o.ended_at AS other_end, o.indirect AS other_indirect, os.key AS other_key, os.part_label AS other_part, op.tag AS other_tag,
       ARRAY (SELECT CASE b.part_label WHEN '' THEN b.key ELSE b.key || ' (' || b.part_label || ')' END
              FROM stage b WHERE b.id = ANY (s.after_ids) AND b.finished_at IS NULL ORDER BY b.position)::text[] AS open_before
FROM (SELECT) AS always
LEFT JOIN stage s ON s.id = @stage::uuid
LEFT JOIN piece p ON p.id = s.piece_id
LEFT JOIN ground g ON g.piece_id = s.piece_id
LEFT JOIN person a ON a.id = s.assignee_id
LEFT JOIN person w ON w.id = @person::uuid
LEFT JOIN clock_entry o ON o.id = (
    SELECT c.id FROM clock_entry c
    WHERE c.person_id = w.id AND NOT c.superseded AND c.started_at < coalesce(sqlc.narg(ended)::timestamptz, 'infinity')
    ORDER BY c.started_at DESC LIMIT 1) AND (o.ended_at IS NULL OR o.ended_at > @started::timestamptz)
LEFT JOIN stage os ON os.id = o.stage_id
LEFT JOIN piece op ON op.id = o.piece_id;

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
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL
WHERE c.person_id = @person AND c.ended_at IS NULL AND NOT c.superseded ORDER BY c.held, c.id;

-- name: EntryByID :one
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL
WHERE c.id = @id;

-- name: EntriesByIDs :many
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL
WHERE c.id = ANY (@ids::uuid[]) ORDER BY c.started_at, c.id;

-- Those that count and lie between two instants, or from the first on.
-- name: EntriesBetween :many
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL
WHERE c.person_id = @person AND NOT c.superseded AND NOT c.held
  AND c.span && tstzrange(@started::timestamptz, sqlc.narg(ended)::timestamptz)
ORDER BY c.started_at, c.id;

-- The entries of a stretch on a batch that count, in their order.
-- name: EntriesOfStretch :many
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL
WHERE c.stretch_id = @stretch::uuid AND NOT c.superseded ORDER BY c.started_at, c.id;

-- A person's last entry to begin, of those that count; the last of a stretch on a batch stands for it.
-- name: LastEntry :one
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL
WHERE c.person_id = @person AND NOT c.superseded ORDER BY c.started_at DESC, c.id DESC LIMIT 1;

-- What a correction would overlap, found as ClockOnFacts does.
-- name: EntryBeside :one
SELECT o.id, w.display_name, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label, coalesce(p.tag, 0)::integer AS piece_tag, o.indirect, o.started_at, o.ended_at
FROM clock_entry o JOIN person w ON w.id = o.person_id LEFT JOIN stage s ON s.id = o.stage_id LEFT JOIN piece p ON p.id = o.piece_id
WHERE o.id = (
    SELECT c.id FROM clock_entry c
    WHERE c.person_id = @person AND c.id <> ALL (@but::uuid[]) AND NOT c.superseded AND c.started_at < @ended::timestamptz
    ORDER BY c.started_at DESC LIMIT 1) AND (o.ended_at IS NULL OR o.ended_at > @started::timestamptz);

-- name: LastWork :one
SELECT w.display_name, c.ended_at
FROM clock_entry c JOIN person w ON w.id = c.person_id JOIN stage s ON s.id = c.stage_id
WHERE c.piece_id = @piece::uuid AND c.stage_id = @stage::uuid AND c.pass = s.pass AND NOT c.superseded AND c.ended_at IS NOT NULL
ORDER BY c.ended_at DESC LIMIT 1;

-- name: ListEntries :many
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL
WHERE (sqlc.narg(person)::uuid IS NULL OR c.person_id = sqlc.narg(person))
  AND (sqlc.narg(piece)::uuid IS NULL OR c.piece_id = sqlc.narg(piece))
  AND (sqlc.narg(from_time)::timestamptz IS NULL OR c.started_at >= sqlc.narg(from_time))
  AND (sqlc.narg(to_time)::timestamptz IS NULL OR c.started_at < sqlc.narg(to_time))
  AND (c.started_at, c.id) > (@after_start::timestamptz, @after_id::uuid)
ORDER BY c.started_at, c.id LIMIT @page_limit;
