-- name: LockZone :one
SELECT id, version FROM zone WHERE word = @word FOR NO KEY UPDATE;

-- name: UpsertZone :exec
INSERT INTO zone (id, word, display_name, kind, version) VALUES (@id, @word, @display_name, @kind, @version)
ON CONFLICT (id) DO UPDATE SET display_name = excluded.display_name, kind = excluded.kind, version = excluded.version;

-- Of one word, or of all.
-- name: Zones :many
SELECT z.id, z.word, z.display_name, z.kind, z.version, r.read_at, r.celsius, r.humidity, r.surface, r.source
FROM zone z LEFT JOIN reading r ON r.zone_id = z.id AND r.read_at = (SELECT max(l.read_at) FROM reading l WHERE l.zone_id = z.id)
WHERE z.word = sqlc.narg(word) OR sqlc.narg(word) IS NULL ORDER BY z.word;

-- name: LockZones :many
SELECT id, word FROM zone WHERE word = ANY (@words::text[]) ORDER BY id FOR NO KEY UPDATE;

-- Of two readings of a zone at an instant the later one holds; one that says the same
-- changes nothing, and is not returned. A surface that is not a number was not read.
-- name: InsertReadings :many
INSERT INTO reading (zone_id, read_at, celsius, humidity, surface, source, actor, recorded_at)
SELECT n.zone_id, n.read_at, n.celsius, n.humidity, nullif(n.surface, 'NaN'), n.source, @actor, @recorded_at
FROM (SELECT unnest(@zone_ids::uuid[]) AS zone_id, unnest(@read_at::timestamptz[]) AS read_at, unnest(@celsius::float8[]) AS celsius,
             unnest(@humidity::float8[]) AS humidity, unnest(@surface::float8[]) AS surface, unnest(@sources::text[]) AS source) AS n
ON CONFLICT (zone_id, read_at) DO UPDATE
SET celsius = excluded.celsius, humidity = excluded.humidity, surface = excluded.surface, source = excluded.source,
    actor = excluded.actor, recorded_at = excluded.recorded_at
WHERE (reading.celsius, reading.humidity, reading.surface) IS DISTINCT FROM (excluded.celsius, excluded.humidity, excluded.surface)
RETURNING zone_id;

-- name: CountReadings :exec
UPDATE zone SET readings = readings + @more WHERE id = @id;

-- Late ones within a few hours are taken together: what one of them changes may not have
-- been computed yet.
-- name: NoteLateReadings :exec
UPDATE zone SET late_at = @now,
    late_from = least(@late::timestamptz, CASE WHEN late_at > @together::timestamptz THEN late_from END)
WHERE id = @id;

-- name: ListReadings :many
SELECT read_at, celsius, humidity, surface, source FROM reading r
WHERE r.zone_id = @zone AND r.read_at > @after AND (sqlc.narg(since)::timestamptz IS NULL OR read_at >= sqlc.narg(since))
  AND (sqlc.narg(until)::timestamptz IS NULL OR read_at <= sqlc.narg(until))
ORDER BY read_at LIMIT @page_limit;

-- name: ReadingsCounted :one
SELECT readings FROM zone WHERE id = @id;

-- The air since an instant, from the reading before it on, in means of ten minutes.
-- name: AirSince :many
SELECT to_timestamp(avg(extract(epoch FROM read_at))::float8)::timestamptz AS read_at, avg(celsius)::float8 AS celsius, avg(humidity)::float8 AS humidity
FROM reading r
WHERE r.zone_id = @zone AND r.read_at >= coalesce((SELECT max(b.read_at) FROM reading b WHERE b.zone_id = @zone AND b.read_at <= @since), @since)
GROUP BY date_bin('10 minutes', r.read_at, '2000-01-01') ORDER BY 1;

-- The air of the last fourteen days that were read, in means of an hour.
-- name: AirOfLateDays :many
SELECT to_timestamp(avg(extract(epoch FROM read_at))::float8)::timestamptz AS read_at, avg(celsius)::float8 AS celsius, avg(humidity)::float8 AS humidity
FROM reading r
WHERE r.zone_id = @zone AND r.read_at > (SELECT max(l.read_at) FROM reading l WHERE l.zone_id = @zone) - interval '14 days'
GROUP BY date_trunc('hour', r.read_at) ORDER BY 1;

-- name: SaveDryClock :exec
INSERT INTO dry_clock (stage_id, pass, piece_id, part_id, kind, product_id, laid_at, film_um, minutes, needs, recoats, zone_ids, zone_from, zone_id, seen, learned,
                       windows, felt, sand_at, recoat_at, cured_at, closes_at, said_at, said_closes, ready_said, said_needs, close_said, due_at, ended)
VALUES (@stage_id, @pass, @piece_id, @part_id, @kind, @product_id, @laid_at, @film_um, @minutes, @needs, @recoats, @zone_ids, @zone_from, @zone_id, @seen, @learned,
        @windows, @felt, coalesce(sqlc.narg(sand_at)::timestamptz, 'infinity'), coalesce(sqlc.narg(recoat_at)::timestamptz, 'infinity'),
        coalesce(sqlc.narg(cured_at)::timestamptz, 'infinity'), @closes_at, @said_at, @said_closes, @ready_said, @said_needs, @close_said, @due_at, @ended)
ON CONFLICT (stage_id) DO UPDATE
SET needs = excluded.needs, recoats = excluded.recoats,
    zone_ids = excluded.zone_ids, zone_from = excluded.zone_from, zone_id = excluded.zone_id, seen = excluded.seen, learned = excluded.learned,
    windows = excluded.windows, felt = excluded.felt, sand_at = excluded.sand_at, recoat_at = excluded.recoat_at, cured_at = excluded.cured_at,
    closes_at = excluded.closes_at, said_at = excluded.said_at, said_closes = excluded.said_closes, ready_said = excluded.ready_said,
    said_needs = excluded.said_needs, close_said = excluded.close_said, due_at = excluded.due_at, ended = excluded.ended;

-- name: DeleteDryClocks :exec
DELETE FROM dry_clock WHERE stage_id = ANY (@stages::uuid[]);

-- name: DryClocksOf :many
SELECT c.stage_id, c.pass, c.piece_id, c.part_id, c.kind, c.product_id, c.laid_at, c.film_um, c.minutes, c.needs, c.recoats, c.zone_ids, c.zone_from,
       c.seen, c.learned, c.windows, c.felt, c.said_at, c.said_closes, c.ready_said, c.said_needs, c.close_said, c.ended,
       s.key, s.kind AS stage_kind, s.part_label, s.product_name, s.coating, p.tag, coalesce(z.word, '') AS zone_word,
       coalesce(f.log_mean, 0)::float8 AS log_mean, coalesce(f.log_std_dev, 0)::float8 AS log_std_dev, coalesce(f.outcomes, 0)::integer AS outcomes,
       coalesce(f.lessons, 0)::integer AS lessons
FROM dry_clock c JOIN stage s ON s.id = c.stage_id JOIN piece p ON p.id = c.piece_id
LEFT JOIN zone z ON z.id = c.zone_id LEFT JOIN drying_factor f ON f.product_id = c.product_id
WHERE c.piece_id = @piece ORDER BY c.laid_at, c.stage_id;

-- Of one zone, or of all, those that have not ended.
-- name: DryClocks :many
SELECT c.stage_id, c.pass, c.piece_id, c.part_id, c.kind, c.product_id, c.laid_at, c.film_um, c.minutes, c.needs, c.recoats, c.zone_ids, c.zone_from,
       c.seen, c.learned, c.windows, c.felt, c.said_at, c.said_closes, c.ready_said, c.said_needs, c.close_said, c.ended,
       s.key, s.kind AS stage_kind, s.part_label, s.product_name, s.coating, p.tag, coalesce(z.word, '') AS zone_word,
       coalesce(f.log_mean, 0)::float8 AS log_mean, coalesce(f.log_std_dev, 0)::float8 AS log_std_dev, coalesce(f.outcomes, 0)::integer AS outcomes,
       coalesce(f.lessons, 0)::integer AS lessons
FROM dry_clock c JOIN stage s ON s.id = c.stage_id JOIN piece p ON p.id = c.piece_id
LEFT JOIN zone z ON z.id = c.zone_id LEFT JOIN drying_factor f ON f.product_id = c.product_id
WHERE NOT c.ended AND NOT p.scrapped AND (sqlc.narg(zone)::uuid IS NULL OR c.zone_id = sqlc.narg(zone))
ORDER BY c.laid_at, c.stage_id;

-- Pieces of which a clock has not seen all readings, does not know all that was learned of
-- its product, or has something to say; those that dry first. Of clocks that have ended only
-- those that were laid of late, and that late readings are about.
-- name: PiecesToCompute :many
SELECT w.piece_id FROM (
    SELECT c.piece_id, c.ended
    FROM dry_clock c LEFT JOIN drying_factor f ON f.product_id = c.product_id LEFT JOIN zone z ON z.id = c.zone_id
    WHERE NOT c.ended
      AND (c.due_at <= @now OR c.learned < f.lessons OR c.seen < z.readings
           OR (cardinality(c.zone_ids) > 1 AND c.seen < (SELECT sum(e.readings) FROM zone e WHERE e.id = ANY (c.zone_ids))))
    UNION ALL
    SELECT c.piece_id, c.ended
    FROM dry_clock c
    WHERE c.ended AND c.laid_at > @reopens::timestamptz
      AND c.seen < (SELECT sum(e.readings) FROM zone e WHERE e.id = ANY (c.zone_ids))
      AND EXISTS (SELECT FROM zone e WHERE e.id = ANY (c.zone_ids) AND e.late_at > @together::timestamptz AND e.late_from <= c.cured_at)
      AND NOT EXISTS (SELECT FROM overtaken o WHERE o.stage_id = c.stage_id)) AS w
JOIN piece p ON p.id = w.piece_id AND NOT p.scrapped
GROUP BY w.piece_id ORDER BY bool_and(w.ended), w.piece_id;

-- name: FirstLaid :one
SELECT coalesce(min(laid_at), 'epoch')::timestamptz AS laid_at FROM dry_clock WHERE NOT ended;

-- name: Overtaken :many
SELECT stage_id FROM overtaken WHERE piece_id = @piece;

-- name: EnsureFactor :exec
INSERT INTO drying_factor (product_id, log_mean, log_std_dev, outcomes) VALUES (@product_id, 0, 0, 0) ON CONFLICT DO NOTHING;

-- name: LockFactor :exec
SELECT FROM drying_factor WHERE product_id = @product_id FOR UPDATE;

-- name: GetFactor :one
SELECT log_mean, log_std_dev, outcomes, lessons FROM drying_factor WHERE product_id = @product_id;

-- name: UpdateFactor :one
UPDATE drying_factor SET log_mean = @log_mean, log_std_dev = @log_std_dev, outcomes = @outcomes,
    lessons = lessons + ((log_mean, log_std_dev, outcomes) IS DISTINCT FROM (@log_mean, @log_std_dev, @outcomes))::integer
WHERE product_id = @product_id RETURNING lessons;

-- name: InsertOutcome :exec
INSERT INTO drying_outcome (id, stage_id, pass, product_id, milestone, not_yet_at, reached_at, low, high, actor)
VALUES (@id, @stage_id, @pass, @product_id, @milestone, @not_yet_at, @reached_at, @low, @high, @actor);

-- What the last sighting of each milestone of each coat stands for, coat by coat.
-- name: OutcomesOf :many
SELECT o.stage_id, o.pass, o.low, o.high
FROM (SELECT d.stage_id, d.pass, d.low, d.high, d.nth, row_number() OVER (PARTITION BY d.stage_id, d.pass, d.milestone ORDER BY d.nth DESC) AS back,
             min(d.nth) OVER (PARTITION BY d.stage_id, d.pass) AS coat
      FROM drying_outcome d WHERE d.product_id = @product_id) AS o
WHERE o.back = 1 ORDER BY o.coat, o.nth;
