-- name: StationWords :many
SELECT word FROM station WHERE word = ANY (@words::text[]);

-- name: LockStation :one
SELECT id, version FROM station WHERE word = @word FOR NO KEY UPDATE;

-- name: UpsertStation :exec
INSERT INTO station (id, word, display_name, kind, capacity, unit, open_hours, stage_kinds, changeover_minutes, zone_id, retired, version)
VALUES (@id, @word, @display_name, @kind, @capacity, @unit, @open_hours, @stage_kinds, @changeover_minutes, @zone_id, @retired, @version)
ON CONFLICT (id) DO UPDATE
SET display_name = excluded.display_name, kind = excluded.kind, capacity = excluded.capacity, unit = excluded.unit, open_hours = excluded.open_hours,
    stage_kinds = excluded.stage_kinds, changeover_minutes = excluded.changeover_minutes, zone_id = excluded.zone_id, retired = excluded.retired,
    version = excluded.version;

-- Those of some kinds, one that is named, and those at which something of some pieces stands.
-- name: LockStations :exec
SELECT FROM station s
WHERE s.kind = ANY (@kinds::text[]) OR s.word = @word OR s.id IN (SELECT p.station_id FROM placement p WHERE p.piece_id = ANY (@pieces::uuid[]) AND p.to_at IS NULL)
ORDER BY s.id FOR NO KEY UPDATE;

-- All, or those of some kinds and one that is named: a row for each placement there that is
-- there now, or ends later than an instant.
-- name: Stations :many
SELECT s.id, s.word, s.display_name, s.kind, s.capacity, s.unit, s.open_hours, s.stage_kinds, s.changeover_minutes, s.zone_id, coalesce(z.word, '') AS zone_word,
       s.retired, s.version,
       p.id AS placement_id, p.piece_id, p.part_id, p.takes, p.from_at, p.to_at, coalesce(c.tag, 0)::integer AS tag, coalesce(t.label, '') AS label
FROM station s LEFT JOIN zone z ON z.id = s.zone_id
LEFT JOIN placement p ON p.station_id = s.id AND p.span && tstzrange(coalesce(sqlc.narg(since)::timestamptz, 'infinity'), NULL)
LEFT JOIN piece c ON c.id = p.piece_id
LEFT JOIN part t ON t.piece_id = p.piece_id AND t.id = p.part_id
WHERE @everything::boolean OR s.kind = ANY (@kinds::text[]) OR s.word = @word
ORDER BY s.word, p.from_at, tag, label, p.id;

-- The last work with another product at stations, of those that have to be cleaned between
-- two: what goes on, or else what ended last after an instant.
-- name: UsedFor :many
SELECT DISTINCT ON (c.station_id) c.station_id::uuid AS station_id, g.product_name, w.display_name, c.ended_at
FROM clock_entry c JOIN station s ON s.id = c.station_id AND s.changeover_minutes > 0 JOIN stage g ON g.id = c.stage_id JOIN person w ON w.id = c.person_id
WHERE c.station_id = ANY (@stations::uuid[]) AND NOT c.superseded AND g.product_id <> @product::uuid
  AND (c.ended_at IS NULL OR c.ended_at > @after::timestamptz)
ORDER BY c.station_id, c.ended_at DESC NULLS FIRST, c.id;

-- The parts of pieces, and of each of them, or of the rest of its piece, where it stands or
-- stood last.
-- name: Whereabouts :many
SELECT k.piece_id, k.part_id, t.label, t.count, p.id, p.takes, p.station_id, p.outside_id, p.from_at, p.to_at, c.tag, s.word, o.firm
FROM (SELECT piece_id, id AS part_id FROM part WHERE piece_id = ANY (@pieces::uuid[])
      UNION SELECT piece_id, part_id FROM placement WHERE piece_id = ANY (@pieces::uuid[])) AS k
JOIN piece c ON c.id = k.piece_id
LEFT JOIN part t ON t.piece_id = k.piece_id AND t.id = k.part_id
LEFT JOIN placement p ON p.id = (SELECT l.id FROM placement l WHERE l.piece_id = k.piece_id AND l.part_id = k.part_id ORDER BY l.from_at DESC LIMIT 1)
LEFT JOIN station s ON s.id = p.station_id LEFT JOIN outside_work o ON o.id = p.outside_id
ORDER BY t.label, k.part_id;

-- name: InsertPlacement :exec
INSERT INTO placement (id, piece_id, part_id, takes, station_id, outside_id, from_at, to_at)
VALUES (@id, @piece_id, @part_id, @takes, @station_id, @outside_id, @from_at, @to_at);

-- name: EndPlacement :exec
UPDATE placement SET to_at = @to_at WHERE id = @id;

-- The zone of the station where a part stands now, or with the nil id some part of the piece.
-- name: ZoneOfPart :one
SELECT t.zone_id::uuid AS zone_id FROM placement l JOIN station t ON t.id = l.station_id
WHERE l.piece_id = @piece AND l.to_at IS NULL AND t.zone_id IS NOT NULL
  AND (l.part_id = @part OR l.part_id = '00000000-0000-0000-0000-000000000000' OR @part = '00000000-0000-0000-0000-000000000000')
ORDER BY l.part_id = @part DESC, l.part_id LIMIT 1;
