-- name: EnsurePiece :exec
INSERT INTO piece (id, tag, taken_in_at, scrapped, planned, version) VALUES (@id, @tag, @taken_in_at, false, false, 0)
ON CONFLICT (id) DO UPDATE SET tag = excluded.tag, taken_in_at = excluded.taken_in_at;

-- name: LockPiece :exec
SELECT FROM piece WHERE id = @id FOR UPDATE;

-- name: LockPiecesOfOpenClock :many
SELECT id, tag, taken_in_at, scrapped, planned, version, promised_at, value, scrapped_at, sold_at FROM piece WHERE id IN (
    SELECT piece_id FROM clock_entry WHERE person_id = @person AND ended_at IS NULL AND NOT superseded) OR id = ANY (@also::uuid[]) ORDER BY id FOR UPDATE;

-- name: LockPieces :many
SELECT id, tag, taken_in_at, scrapped, planned, version, promised_at, value, scrapped_at, sold_at FROM piece WHERE id = ANY (@ids::uuid[]) ORDER BY id FOR UPDATE;

-- name: GetPiece :one
SELECT id, tag, taken_in_at, scrapped, planned, version, promised_at, value, scrapped_at, sold_at FROM piece WHERE id = @id;

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
INSERT INTO piece (id, tag, scrapped, scrapped_at, planned, version) VALUES (@id, 0, true, @scrapped_at, false, 0)
ON CONFLICT (id) DO UPDATE SET scrapped = true, scrapped_at = coalesce(piece.scrapped_at, excluded.scrapped_at);

-- name: ForgetIntake :exec
UPDATE piece SET scrapped = false, scrapped_at = NULL, taken_in_at = CASE WHEN version > 0 THEN taken_in_at END WHERE scrapped OR version = 0;

-- name: NoteSale :exec
INSERT INTO sale (piece_id, sold_at) VALUES (@id, @sold_at) ON CONFLICT (piece_id) DO UPDATE SET sold_at = excluded.sold_at;

-- name: NoteReturn :exec
DELETE FROM sale WHERE piece_id = @id;

-- While it is back with a fault it is on the floor, sold or not.
-- name: SellPiece :one
INSERT INTO piece (id, tag, scrapped, planned, version, sold_at) VALUES (@id, 0, false, false, 0, @sold_at)
ON CONFLICT (id) DO UPDATE SET sold_at = CASE WHEN EXISTS (SELECT FROM comeback c WHERE c.piece_id = excluded.id AND c.closed_at IS NULL) THEN NULL ELSE excluded.sold_at END
RETURNING sold_at;

-- name: ForgetSales :exec
WITH gone AS (DELETE FROM sale) UPDATE piece SET sold_at = NULL WHERE sold_at IS NOT NULL;

-- name: BringBack :exec
UPDATE piece SET sold_at = NULL WHERE id = @id;

-- name: SaleOf :one
SELECT sold_at FROM sale WHERE piece_id = @id;

-- name: TakeAway :exec
UPDATE piece SET sold_at = (SELECT s.sold_at FROM sale s WHERE s.piece_id = piece.id) WHERE id = @id;

-- name: CountOpenStages :one
SELECT count(*)::integer FROM stage WHERE piece_id = @piece_id AND finished_at IS NULL;

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
