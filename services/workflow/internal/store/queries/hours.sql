-- Hands-on time between two instants, in microseconds, by what is asked for: of first passes,
-- of later ones, and of what belongs to no piece. By week a stretch is cut where the shop's clock
-- shows midnight before a Monday. What is not asked for is the nil id, empty or the epoch.
-- name: Hours :many
WITH span AS (SELECT coalesce(sqlc.narg(from_time)::timestamptz, '-infinity') AS from_time, coalesce(sqlc.narg(to_time)::timestamptz, 'infinity') AS to_time),
slice AS (
    SELECT w.week,
           CASE WHEN @by_person::boolean THEN c.person_id ELSE '00000000-0000-0000-0000-000000000000' END AS person_id,
           CASE WHEN @by_piece::boolean AND c.piece_id IS NOT NULL THEN c.piece_id ELSE '00000000-0000-0000-0000-000000000000' END AS piece_id,
           CASE WHEN @by_stage::boolean AND c.stage_id IS NOT NULL THEN c.stage_id ELSE '00000000-0000-0000-0000-000000000000' END AS stage_id,
           CASE WHEN @by_stage_kind::boolean THEN coalesce(s.kind, '') ELSE '' END AS stage_kind,
           CASE WHEN @by_indirect::boolean THEN c.indirect ELSE '' END AS indirect,
           c.stage_id IS NULL AS on_no_piece, c.pass,
           (extract(epoch FROM least(c.ended_at, b.to_time, w.to_time) - greatest(c.started_at, b.from_time, w.from_time)) * 1000000)::bigint AS micros
    FROM clock_entry c CROSS JOIN span b LEFT JOIN stage s ON s.id = c.stage_id
    JOIN LATERAL (
        SELECT 'epoch'::date AS week, '-infinity'::timestamptz AS from_time, 'infinity'::timestamptz AS to_time WHERE NOT @by_week::boolean
        UNION ALL
        SELECT m::date, m AT TIME ZONE @zone::text, (m + interval '7 days') AT TIME ZONE @zone
        FROM generate_series(date_trunc('week', c.started_at AT TIME ZONE @zone), c.ended_at AT TIME ZONE @zone, interval '7 days') AS m WHERE @by_week
    ) AS w ON least(c.ended_at, b.to_time, w.to_time) > greatest(c.started_at, b.from_time, w.from_time)
    WHERE NOT c.superseded AND c.ended_at > b.from_time AND c.started_at < b.to_time
      AND (sqlc.narg(person)::uuid IS NULL OR c.person_id = sqlc.narg(person))
      AND (sqlc.narg(piece)::uuid IS NULL OR c.piece_id = sqlc.narg(piece))),
line AS (
    SELECT week, person_id, piece_id, stage_id, stage_kind, indirect,
           coalesce(sum(micros) FILTER (WHERE NOT on_no_piece AND pass = 1), 0)::bigint AS labour,
           coalesce(sum(micros) FILTER (WHERE NOT on_no_piece AND pass > 1), 0)::bigint AS rework,
           coalesce(sum(micros) FILTER (WHERE on_no_piece), 0)::bigint AS indirect_labour
    FROM slice
    WHERE (week, person_id, piece_id, stage_id, stage_kind, indirect)
        > (@after_week::date, @after_person::uuid, @after_piece::uuid, @after_stage::uuid, @after_stage_kind::text, @after_indirect::text) OR @from_start::boolean
    GROUP BY week, person_id, piece_id, stage_id, stage_kind, indirect
    ORDER BY week, person_id, piece_id, stage_id, stage_kind, indirect LIMIT @page_limit)
SELECT l.week, l.person_id::uuid AS person_id, l.piece_id::uuid AS piece_id, l.stage_id::uuid AS stage_id, l.stage_kind, l.indirect, l.labour, l.rework, l.indirect_labour,
       coalesce(w.display_name, '') AS person_name, coalesce(p.tag, 0)::integer AS piece_tag,
       coalesce(g.key, '') AS key, coalesce(g.part_label, '') AS part_label, g.piece_id AS stage_piece_id
FROM line l LEFT JOIN person w ON w.id = l.person_id LEFT JOIN piece p ON p.id = l.piece_id LEFT JOIN stage g ON g.id = l.stage_id
ORDER BY l.week, l.person_id, l.piece_id, l.stage_id, l.stage_kind, l.indirect;

-- name: OpenReviewsOf :one
SELECT count(*)::integer FROM clock_review WHERE person_id = @person AND settled_at IS NULL;
