-- name: InsertComeback :exec
INSERT INTO comeback (id, piece_id, sold_at, reported_at, reported_by, note, warranty, in_shop, outcome, outcome_note, actor,
                      source, certainty, product_name, lot, stage_title, judge_note, judged_by, version)
VALUES (@id, @piece_id, @sold_at, @reported_at, @reported_by, @note, @warranty, @in_shop, '', '', @actor, '', '', '', '', '', '', '', @version);

-- name: InsertComebackFault :exec
INSERT INTO comeback_fault (comeback_id, nth, kind, part_id, part_label, photo, note) VALUES (@comeback_id, @nth, @kind, @part_id, @part_label, @photo, @note);

-- name: InsertComebackStage :exec
INSERT INTO comeback_stage (stage_id, comeback_id) VALUES (@stage_id, @comeback_id);

-- name: UpdateComeback :exec
UPDATE comeback SET outcome = @outcome, outcome_note = @outcome_note, closed_at = @closed_at, returned_at = @returned_at,
    source = @source, certainty = @certainty, product_id = @product_id, product_name = @product_name, lot = @lot, stage_id = @stage_id, stage_title = @stage_title,
    person_id = @person_id, judge_note = @judge_note, judged_at = @judged_at, judged_by = @judged_by, version = @version
WHERE id = @id;

-- name: PieceOfComeback :one
SELECT piece_id FROM comeback WHERE id = @id;

-- name: Comebacks :many
SELECT c.id, c.piece_id, p.tag, c.sold_at, c.reported_at, c.reported_by, c.note, c.warranty, c.in_shop, c.outcome, c.outcome_note, c.closed_at, c.returned_at, c.actor,
       c.source, c.certainty, c.product_id, c.product_name, c.lot, c.stage_id, c.stage_title, c.person_id, coalesce(w.display_name, '') AS person_name,
       c.judge_note, c.judged_at, c.judged_by, c.version,
       ARRAY (SELECT m.stage_id FROM comeback_stage m JOIN stage s ON s.id = m.stage_id WHERE m.comeback_id = c.id ORDER BY s.position)::uuid[] AS stages,
       (SELECT coalesce(sum(round(extract(epoch FROM e.ended_at - e.started_at) * 1000)), 0)::bigint FROM comeback_stage m
        JOIN clock_entry e ON e.stage_id = m.stage_id AND NOT e.superseded AND e.ended_at IS NOT NULL WHERE m.comeback_id = c.id) AS rework_ms
FROM comeback c JOIN piece p ON p.id = c.piece_id LEFT JOIN person w ON w.id = c.person_id
WHERE (cardinality(@ids::uuid[]) = 0 OR c.id = ANY (@ids::uuid[]))
  AND (sqlc.narg(piece)::uuid IS NULL OR c.piece_id = sqlc.narg(piece)) AND NOT (@open_only::boolean AND c.closed_at IS NOT NULL)
  AND (c.reported_at, c.id) < (coalesce(sqlc.narg(before_at)::timestamptz, 'infinity'), @before_id::uuid)
ORDER BY c.reported_at DESC, c.id DESC LIMIT @page_limit;

-- name: FaultsOf :many
SELECT comeback_id, kind, part_id, part_label, photo, note FROM comeback_fault WHERE comeback_id = ANY (@ids::uuid[]) ORDER BY comeback_id, nth;

-- Stages of a piece that somebody worked on, or others did.
-- name: WorkedStages :many
SELECT s.id FROM stage s
WHERE s.piece_id = @piece_id AND (EXISTS (SELECT FROM clock_entry c WHERE c.stage_id = s.id) OR EXISTS (SELECT FROM outside_work o WHERE o.stage_id = s.id));

-- Pieces that were sold in a time, or came back after a sale in it.
-- name: SoldIn :many
SELECT piece_id FROM (SELECT s.piece_id, s.sold_at FROM sale s UNION SELECT c.piece_id, c.sold_at FROM comeback c) AS all_sales
WHERE (sqlc.narg(from_time)::timestamptz IS NULL OR sold_at >= sqlc.narg(from_time)) AND (sqlc.narg(to_time)::timestamptz IS NULL OR sold_at < sqlc.narg(to_time))
GROUP BY piece_id ORDER BY piece_id;

-- What was done on pieces before they came back, if they did.
-- name: DoneStages :many
SELECT s.id, s.piece_id, s.kind, s.key, s.part_label, s.product_id, s.product_name, s.zone_id, s.coating, s.finished_at::timestamptz AS finished_at
FROM stage s WHERE s.piece_id = ANY (@pieces::uuid[]) AND s.finished_at IS NOT NULL AND NOT EXISTS (SELECT FROM comeback_stage m WHERE m.stage_id = s.id)
ORDER BY s.piece_id, s.position;

-- Who worked on stages of pieces, in any pass.
-- name: WhoWorked :many
SELECT DISTINCT c.stage_id::uuid AS stage_id, c.person_id, w.display_name FROM clock_entry c JOIN person w ON w.id = c.person_id
WHERE c.piece_id = ANY (@pieces::uuid[]) AND c.stage_id IS NOT NULL AND NOT c.superseded ORDER BY stage_id, w.display_name, c.person_id;

-- When work on stages of pieces began, in their last pass.
-- name: StagesBegan :many
SELECT c.stage_id::uuid AS stage_id, min(c.started_at)::timestamptz AS began_at FROM clock_entry c JOIN stage s ON s.id = c.stage_id
WHERE c.piece_id = ANY (@pieces::uuid[]) AND NOT c.superseded AND c.pass = s.pass GROUP BY c.stage_id;

-- The air of finished stages of pieces, as it was last read before their end: where what they left wet dried first, or
-- was to dry, or else where somebody last worked on them.
-- name: AirsOf :many
SELECT s.id AS stage_id, r.read_at, r.celsius, r.humidity, coalesce(r.surface, r.celsius)::double precision AS surface
FROM stage s
LEFT JOIN dry_clock d ON d.stage_id = s.id
LEFT JOIN LATERAL (SELECT t.zone_id FROM clock_entry c JOIN station t ON t.id = c.station_id
                   WHERE c.stage_id = s.id AND NOT c.superseded ORDER BY c.started_at DESC LIMIT 1) AS w ON true
JOIN LATERAL (SELECT l.read_at, l.celsius, l.humidity, l.surface FROM reading l
              WHERE l.zone_id = coalesce(nullif(d.zone_ids[1], '00000000-0000-0000-0000-000000000000'), s.zone_id, w.zone_id)
                AND l.read_at <= s.finished_at ORDER BY l.read_at DESC LIMIT 1) AS r ON true
WHERE s.piece_id = ANY (@pieces::uuid[]) AND s.finished_at IS NOT NULL;

-- name: ComebacksOfPieces :many
SELECT c.id FROM comeback c WHERE c.piece_id = ANY (@pieces::uuid[])
  AND (sqlc.narg(from_time)::timestamptz IS NULL OR c.sold_at >= sqlc.narg(from_time)) AND (sqlc.narg(to_time)::timestamptz IS NULL OR c.sold_at < sqlc.narg(to_time));
