-- Pieces on the floor on which something is left to do, by tag, with what stages find there.
-- name: OpenPieces :many
SELECT p.id, p.tag, p.taken_in_at, p.scrapped, p.planned, p.version, p.promised_at, p.value, g.tests, g.wet
FROM piece p JOIN ground g ON g.piece_id = p.id
WHERE NOT p.scrapped AND p.sold_at IS NULL AND EXISTS (SELECT FROM stage s WHERE s.piece_id = p.id AND s.finished_at IS NULL)
ORDER BY p.tag, p.id;

-- Their stages: those that are not finished, and those that dulled a film since. Of how a
-- coat dries only the air that it can stand.
-- name: OpenStages :many
SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.position, s.attended_minutes, s.unattended_minutes,
       s.after_ids, s.send_back_times, s.finished_at, s.assignee_id, coalesce(w.display_name, '') AS assigned_to,
       s.grit, s.product_id, s.product_name, s.station, s.needs, s.latest_minutes, s.cautions, s.disturbs_old, s.why,
       s.zone_id, (CASE WHEN s.coating IS NOT NULL THEN jsonb_build_object('Limits', s.coating -> 'Limits') END)::jsonb AS coating, s.wet_film_um, s.area_m2, s.skill_level, s.batch_id, s.helper_ids,
       ARRAY (SELECT h.display_name FROM unnest(s.helper_ids) WITH ORDINALITY AS u (id, nth) JOIN person h ON h.id = u.id ORDER BY u.nth)::text[] AS helper_names
FROM stage s JOIN piece p ON p.id = s.piece_id LEFT JOIN person w ON w.id = s.assignee_id
WHERE NOT p.scrapped AND p.sold_at IS NULL AND (s.finished_at IS NULL
    OR s.kind IN ('sand', 'scuff_sand') AND EXISTS (SELECT FROM stage o WHERE o.piece_id = s.piece_id AND o.finished_at IS NULL))
ORDER BY s.piece_id, s.position;

-- name: OpenOnTheClock :many
SELECT c.piece_id::uuid AS piece_id, c.stage_id::uuid AS stage_id, c.person_id, w.display_name
FROM clock_entry c JOIN person w ON w.id = c.person_id
WHERE c.stage_id IS NOT NULL AND c.ended_at IS NULL AND NOT c.superseded ORDER BY w.display_name;

-- name: OpenAway :many
SELECT piece_id, part_id FROM placement WHERE to_at IS NULL AND outside_id IS NOT NULL ORDER BY piece_id, part_id;

-- name: OpenDryClocks :many
SELECT c.stage_id, c.pass, c.piece_id, c.part_id, c.kind, c.product_id, c.laid_at, c.film_um, c.minutes, c.needs, c.recoats, c.zone_ids, c.zone_from,
       c.seen, c.learned, c.windows, c.felt, c.said_at, c.said_closes, c.ready_said, c.said_needs, c.close_said, c.ended,
       s.key, s.kind AS stage_kind, s.part_label, s.product_name, NULL::jsonb AS coating, p.tag, coalesce(z.word, '') AS zone_word,
       0::float8 AS log_mean, 0::float8 AS log_std_dev, 0::integer AS outcomes, 0::integer AS lessons
FROM dry_clock c JOIN stage s ON s.id = c.stage_id JOIN piece p ON p.id = c.piece_id LEFT JOIN zone z ON z.id = c.zone_id
WHERE NOT p.scrapped AND p.sold_at IS NULL AND EXISTS (SELECT FROM stage o WHERE o.piece_id = c.piece_id AND o.finished_at IS NULL)
ORDER BY c.laid_at, c.stage_id;

-- The last reading of each zone by an instant.
-- name: LastAirs :many
SELECT z.id AS zone_id, r.read_at, r.celsius, r.humidity, coalesce(r.surface, r.celsius)::double precision AS surface
FROM zone z JOIN LATERAL (SELECT l.read_at, l.celsius, l.humidity, l.surface FROM reading l
                          WHERE l.zone_id = z.id AND l.read_at <= @before::timestamptz ORDER BY l.read_at DESC LIMIT 1) AS r ON true;

-- The last work with each product at stations that have to be cleaned between two.
-- name: LastUses :many
SELECT DISTINCT ON (c.station_id, g.product_id) c.station_id::uuid AS station_id, g.product_id::uuid AS product_id, g.product_name, w.display_name, c.ended_at
FROM clock_entry c JOIN station s ON s.id = c.station_id AND s.changeover_minutes > 0 JOIN stage g ON g.id = c.stage_id JOIN person w ON w.id = c.person_id
WHERE NOT c.superseded AND g.product_id IS NOT NULL AND (c.ended_at IS NULL OR c.ended_at > @after::timestamptz)
ORDER BY c.station_id, g.product_id, c.ended_at DESC NULLS FIRST, c.id;

-- name: OpenBatchNames :many
SELECT id, display_name FROM batch WHERE state = 'open';
