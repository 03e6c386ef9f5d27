-- Pieces that were taken in or planned, by tag: those on which something is left to do, or of sold ones is being
-- done, those on which nothing is that others have, those that were given up, those that were sold before they
-- were done, those that are done and those that nobody planned, as asked for; with something at a station, with something of a person's, with a stage of a kind
-- that is not finished; only such as came back.
-- name: BoardPieces :many
SELECT p.id, p.tag, p.scrapped, p.planned, p.promised_at, p.value, p.sold_at, (SELECT count(*)::integer FROM stage s WHERE s.piece_id = p.id) AS stages,
       b.id AS comeback_id
FROM (SELECT p.id, p.tag, p.scrapped, p.planned, p.promised_at, p.value, p.sold_at
      FROM piece p
      WHERE (p.tag, p.id) > (@after_tag::integer, @after_id::uuid)
        AND (p.taken_in_at IS NOT NULL OR p.planned) -- or only others told of it
        AND CASE WHEN NOT p.scrapped AND p.sold_at IS NULL AND EXISTS (SELECT FROM stage s WHERE s.piece_id = p.id AND s.finished_at IS NULL) THEN @open::boolean
                 WHEN NOT p.scrapped AND p.sold_at IS NOT NULL AND EXISTS (
                     SELECT FROM clock_entry c WHERE c.piece_id = p.id AND c.ended_at IS NULL AND NOT c.superseded) THEN @open::boolean
                 WHEN EXISTS (SELECT FROM placement l WHERE l.piece_id = p.id AND l.outside_id IS NOT NULL AND l.to_at IS NULL) THEN @away::boolean
                 WHEN p.scrapped THEN @scrapped::boolean
                 WHEN p.sold_at IS NOT NULL AND (NOT p.planned OR EXISTS (SELECT FROM stage s WHERE s.piece_id = p.id AND s.finished_at IS NULL)) THEN @sold::boolean
                 WHEN p.planned THEN @done::boolean
                 ELSE @unplanned::boolean END
        AND (sqlc.narg(station)::uuid IS NULL OR EXISTS (
            SELECT FROM placement l WHERE l.piece_id = p.id AND l.station_id = sqlc.narg(station) AND l.to_at IS NULL))
        AND (sqlc.narg(person)::uuid IS NULL
             OR EXISTS (SELECT FROM stage s WHERE s.piece_id = p.id AND s.finished_at IS NULL AND (s.assignee_id = sqlc.narg(person) OR sqlc.narg(person) = ANY (s.helper_ids)))
             OR EXISTS (SELECT FROM clock_entry c WHERE c.person_id = sqlc.narg(person) AND c.piece_id = p.id AND c.ended_at IS NULL AND NOT c.superseded))
        AND (@kind::text = '' OR EXISTS (SELECT FROM stage s WHERE s.piece_id = p.id AND s.finished_at IS NULL AND s.kind = @kind))
        AND (NOT @came_back::boolean OR EXISTS (SELECT FROM comeback b WHERE b.piece_id = p.id AND b.closed_at IS NULL))
      ORDER BY p.tag, p.id LIMIT @page_limit) AS p
LEFT JOIN comeback b ON b.piece_id = p.id AND b.closed_at IS NULL
ORDER BY p.tag, p.id;

-- The stages of pieces that are not finished, in no order.
-- name: BoardLinks :many
SELECT s.id, s.piece_id, s.after_ids FROM stage s WHERE s.piece_id = ANY (@pieces::uuid[]) AND s.finished_at IS NULL;

-- name: BoardStages :many
SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.position, s.pass, s.needs, s.batch_id, s.product_name, s.station, coalesce(w.display_name, '') AS assigned_to,
       CASE WHEN s.helper_ids <> '{}' THEN ARRAY (SELECT h.display_name FROM unnest(s.helper_ids) WITH ORDINALITY AS u (id, nth) JOIN person h ON h.id = u.id ORDER BY u.nth)
            END::text[] AS helper_names
FROM stage s LEFT JOIN person w ON w.id = s.assignee_id WHERE s.id = ANY (@stages::uuid[]) AND s.finished_at IS NULL;

-- What dulled films of pieces, of each since an instant.
-- name: BoardDulled :many
SELECT s.piece_id, s.part_id, s.kind, s.finished_at
FROM (SELECT unnest(@pieces::uuid[]) AS piece_id, unnest(@since::timestamptz[]) AS since) AS f JOIN stage s ON s.piece_id = f.piece_id
WHERE s.kind IN ('sand', 'scuff_sand') AND s.finished_at > f.since;

-- What dries on pieces, as far as it is known when it will have dried; the epoch is never.
-- name: BoardDryClocks :many
SELECT c.stage_id, c.piece_id, c.part_id, c.kind, c.laid_at, c.closes_at,
       coalesce(nullif(c.sand_at, 'infinity'), 'epoch')::timestamptz AS sand_at,
       coalesce(nullif(c.recoat_at, 'infinity'), 'epoch')::timestamptz AS recoat_at,
       coalesce(nullif(c.cured_at, 'infinity'), 'epoch')::timestamptz AS cured_at
FROM dry_clock c WHERE c.piece_id = ANY (@pieces::uuid[]) ORDER BY c.laid_at, c.stage_id;

-- Where parts of pieces stand now.
-- name: BoardPlacements :many
SELECT l.id, l.piece_id, l.part_id, l.takes, l.station_id, l.outside_id, l.from_at, coalesce(t.label, '') AS label, coalesce(s.word, '') AS word, coalesce(o.firm, '') AS firm
FROM placement l LEFT JOIN part t ON t.piece_id = l.piece_id AND t.id = l.part_id
LEFT JOIN station s ON s.id = l.station_id LEFT JOIN outside_work o ON o.id = l.outside_id
WHERE l.piece_id = ANY (@pieces::uuid[]) AND l.to_at IS NULL
ORDER BY label, l.part_id;

-- name: StationByWord :one
SELECT id FROM station WHERE word = @word;
