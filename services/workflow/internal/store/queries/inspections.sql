-- name: InsertInspection :exec
INSERT INTO inspection (id, piece_id, stage_id, stage_title, point, pass, inspector_id, passed, back_to, back_to_title, note, inspected_at, actor,
                        judged_stage, judged_kind, judged_pass, product_id, product_name, worker_ids, celsius, humidity)
VALUES (@id, @piece_id, @stage_id, @stage_title, @point, @pass, @inspector_id, @passed, @back_to, @back_to_title, @note, @inspected_at, @actor,
        @judged_stage, @judged_kind, @judged_pass, @product_id, @product_name, @worker_ids, @celsius, @humidity);

-- name: InsertDefect :exec
INSERT INTO defect (inspection_id, nth, kind, part_id, part_label, photo, note) VALUES (@inspection_id, @nth, @kind, @part_id, @part_label, @photo, @note);

-- name: InsertReopened :exec
INSERT INTO reopened (inspection_id, stage_id, pass) VALUES (@inspection_id, @stage_id, @pass);

-- Who worked on the stages of a piece, each in its present pass.
-- name: HandsOf :many
SELECT DISTINCT c.stage_id::uuid AS stage_id, c.person_id FROM clock_entry c JOIN stage s ON s.id = c.stage_id
WHERE c.piece_id = @piece::uuid AND NOT c.superseded AND c.pass = s.pass ORDER BY stage_id, c.person_id;

-- name: PeopleWith :many
SELECT id, display_name, skills, skill_levels, working_days, days_off, stations, active_from, active_to, version, revision, role
FROM person WHERE @skill::text = '' OR @skill::text = ANY (skills) ORDER BY display_name, id;

-- name: ListInspections :many
SELECT i.id, i.piece_id, p.tag, i.stage_id, i.stage_title, i.point, i.pass, i.inspector_id, w.display_name, i.passed, i.back_to, i.back_to_title, i.note,
       i.inspected_at, i.actor, i.judged_stage, i.judged_kind, i.judged_pass, i.product_id, i.product_name, i.worker_ids, i.celsius, i.humidity
FROM inspection i JOIN piece p ON p.id = i.piece_id JOIN person w ON w.id = i.inspector_id
WHERE (sqlc.narg(piece)::uuid IS NULL OR i.piece_id = sqlc.narg(piece)) AND NOT (@failed_only::boolean AND i.passed)
  AND (i.inspected_at, i.id) < (coalesce(sqlc.narg(before_at)::timestamptz, 'infinity'), @before_id::uuid)
ORDER BY i.inspected_at DESC, i.id DESC LIMIT @page_limit;

-- name: DefectsOf :many
SELECT inspection_id, kind, part_id, part_label, photo, note FROM defect WHERE inspection_id = ANY (@ids::uuid[]) ORDER BY inspection_id, nth;

-- name: ReopenedBy :many
SELECT r.inspection_id, r.stage_id, r.pass FROM reopened r JOIN stage s ON s.id = r.stage_id WHERE r.inspection_id = ANY (@ids::uuid[]) ORDER BY r.inspection_id, s.position;

-- How often what was wrong. What an inspection judged is by one product, kind or air, or by
-- each person who worked on it; of what nobody knows the name is empty. A product and a person
-- are called as they last were.
-- name: DefectCounts :many
WITH looked AS (
    SELECT i.id, i.passed, i.inspected_at, by.key, by.name
    FROM inspection i CROSS JOIN LATERAL (
        SELECT ''::text AS key, ''::text AS name WHERE @by_what::text = ''
        UNION ALL
        SELECT coalesce(i.product_id::text, ''), i.product_name WHERE @by_what = 'product'
        UNION ALL
        SELECT i.judged_kind, i.judged_kind WHERE @by_what = 'kind'
        UNION ALL
        SELECT coalesce(air.words, ''), coalesce(air.words, '')
        FROM (SELECT format('%s to %s °C, %s to %s %%', floor(i.celsius / 5) * 5, floor(i.celsius / 5) * 5 + 5,
                            least(floor(i.humidity / 10), 9) * 10, least(floor(i.humidity / 10), 9) * 10 + 10) AS words WHERE i.celsius IS NOT NULL) AS air
        RIGHT JOIN (SELECT) AS always ON true WHERE @by_what = 'air'
        UNION ALL
        SELECT w.id::text, w.display_name FROM person w WHERE w.id = ANY (i.worker_ids) AND @by_what = 'worker'
        UNION ALL
        SELECT '', '' WHERE cardinality(i.worker_ids) = 0 AND @by_what = 'worker') AS by
    WHERE (sqlc.narg(from_time)::timestamptz IS NULL OR i.inspected_at >= sqlc.narg(from_time))
      AND (sqlc.narg(to_time)::timestamptz IS NULL OR i.inspected_at < sqlc.narg(to_time))
), totals AS (
    SELECT key, (array_agg(name ORDER BY inspected_at DESC, id DESC))[1]::text AS name, count(*) AS inspected FROM looked GROUP BY key
), found AS (
    -- What a fail cost is divided over all that it found, to the millisecond; what is left over goes
    -- to the first of them.
    SELECT l.key, l.id, l.passed, d.kind, cost.ms / cost.defects + (d.nth <= cost.ms % cost.defects)::integer AS rework
    FROM looked l JOIN defect d ON d.inspection_id = l.id CROSS JOIN LATERAL (
        SELECT (SELECT count(*) FROM defect o WHERE o.inspection_id = l.id) AS defects,
               (SELECT coalesce(sum(round(extract(epoch FROM c.ended_at - c.started_at) * 1000)), 0)::bigint FROM reopened r
                JOIN clock_entry c ON c.stage_id = r.stage_id AND c.pass = r.pass AND NOT c.superseded AND c.ended_at IS NOT NULL WHERE r.inspection_id = l.id) AS ms
    ) AS cost
), counts AS (
    SELECT f.kind, t.name, f.key, count(*)::integer AS defects, (count(DISTINCT f.id) FILTER (WHERE NOT f.passed))::integer AS failed, t.inspected::integer AS inspected,
           sum(f.rework)::bigint AS rework_ms
    FROM found f JOIN totals t ON t.key = f.key GROUP BY f.kind, t.name, f.key, t.inspected
)
SELECT kind, name, key, defects, failed, inspected, rework_ms FROM counts
WHERE (-defects, kind, name, key) > (@after_order::integer, @after_kind::text, @after_name::text, @after_key::text)
ORDER BY defects DESC, kind, name, key LIMIT @page_limit;
