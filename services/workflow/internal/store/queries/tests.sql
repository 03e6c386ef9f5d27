-- name: GroundOf :one
SELECT tests, wet FROM ground WHERE piece_id = @piece_id;

-- name: InsertPartTest :exec
INSERT INTO part_test (id, piece_id, part_id, part_label, kind, tested_at, actor, percent, at_rest, dry, solvent, result, person_id, controls)
VALUES (@id, @piece_id, @part_id, @part_label, @kind, @tested_at, @actor, @percent, @at_rest, @dry, @solvent, @result, @person_id, @controls);

-- name: PartTestsOf :many
SELECT t.id, t.piece_id, t.part_id, t.part_label, t.kind, t.tested_at, t.actor, t.percent, t.at_rest, t.dry, t.solvent, t.result,
       t.person_id, coalesce(w.display_name, '') AS person_name, t.controls
FROM part_test t LEFT JOIN person w ON w.id = t.person_id
WHERE t.piece_id = @piece_id ORDER BY t.tested_at DESC, t.id DESC;

-- name: ZoneOfWord :one
SELECT id FROM zone WHERE word = @word;

-- Where the part, or the whole piece, last stood to dry, or by its plan will.
-- name: ZoneOfDrying :one
SELECT z.zone_id FROM (
    SELECT d.zone_id, d.laid_at FROM dry_clock d
    WHERE d.piece_id = @piece_id AND (d.part_id IS NULL OR sqlc.narg(part)::uuid IS NULL OR d.part_id = sqlc.narg(part))
    UNION ALL
    SELECT s.zone_id, '-infinity' FROM stage s
    WHERE s.piece_id = @piece_id AND s.zone_id IS NOT NULL AND (s.part_id IS NULL OR sqlc.narg(part)::uuid IS NULL OR s.part_id = sqlc.narg(part))) AS z
ORDER BY z.laid_at DESC LIMIT 1;

-- name: LastAir :one
SELECT read_at, celsius, humidity, coalesce(surface, celsius)::double precision AS surface FROM reading
WHERE zone_id = @zone_id AND read_at <= @before::timestamptz ORDER BY read_at DESC LIMIT 1;

-- Whether somebody clocked on at a stage in its present pass, and that counts as it was or as
-- corrections left it. The entry from which they began is the one without a reason, for what
-- is written down later, or corrects another, has one; and if that began here, it was not
-- moved here.
-- name: ClockedOn :one
WITH RECURSIVE origin AS (
    SELECT c.corrects, c.stage_id, c.pass, c.reason FROM clock_entry c JOIN stage s ON s.id = c.stage_id
    WHERE c.piece_id = @piece::uuid AND c.stage_id = @stage::uuid AND c.pass = s.pass AND NOT c.superseded
    UNION ALL
    SELECT b.corrects, b.stage_id, b.pass, b.reason FROM origin o JOIN clock_entry b ON b.id = o.corrects)
SELECT EXISTS (SELECT FROM origin JOIN stage s ON s.id = origin.stage_id AND s.pass = origin.pass
               WHERE s.id = @stage::uuid AND origin.reason = '') AS clocked_on;

-- name: SaveAcknowledgement :exec
INSERT INTO acknowledgement (stage_id, pass, person_id, cautions, said_at) VALUES (@stage_id, @pass, @person_id, @cautions, @said_at)
ON CONFLICT (stage_id, pass, person_id) DO UPDATE SET cautions = excluded.cautions, said_at = excluded.said_at;
