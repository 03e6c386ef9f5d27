-- name: LockPlace :one
SELECT id, version FROM place WHERE word = @word FOR NO KEY UPDATE;

-- name: UpsertPlace :exec
INSERT INTO place (id, word, display_name, kind, area, retired, version)
VALUES (@id, @word, @display_name, @kind, @area, @retired, @version)
ON CONFLICT (id) DO UPDATE
SET display_name = excluded.display_name, kind = excluded.kind, area = excluded.area, retired = excluded.retired, version = excluded.version;

-- name: PlaceByWord :one
SELECT id, word, display_name, kind, area, retired, version FROM place WHERE word = @word;

-- name: ListPlaces :many
SELECT id, word, display_name, kind, area, retired, version FROM place WHERE @retired_too::boolean OR NOT retired ORDER BY word;

-- name: PlaceWords :many
SELECT id, word FROM place WHERE id = ANY (@ids::uuid[]);

-- What stands where, of what is or may be a liquid: a row for each product and place.
-- name: StoredLiquids :many
SELECT product.id, product.display_name, product.unit, product.sheet_carrier, product.about_density_grams_per_ml,
    (product.about_flash_point_celsius IS NOT NULL)::boolean AS has_flash_point, coalesce(product.about_flash_point_celsius, 0)::double precision AS flash_point,
    (product.about_boiling_point_celsius IS NOT NULL)::boolean AS has_boiling_point, coalesce(product.about_boiling_point_celsius, 0)::double precision AS boiling_point,
    sum(lot.quantity_left)::numeric AS quantity, max(lot.received_at)::timestamptz AS newest_at,
    place.id AS place_id, place.word, place.display_name AS place_name, place.kind, place.area
FROM lot JOIN product ON product.id = lot.product_id LEFT JOIN place ON place.id = lot.place_id
WHERE lot.quantity_left > 0 AND (product.unit = 'L' OR product.unit = 'g' AND product.about_flash_point_celsius IS NOT NULL)
GROUP BY product.id, place.id
ORDER BY product.display_name, product.id, place.word;

-- name: ListExpiring :many
SELECT lot.id, lot.product_id, product.display_name, product.unit, lot.quantity_left, lot.cost_left, lot.expires_at::timestamptz AS expires_at, lot.opened, lot.closed,
    coalesce(place.word, '') AS place_word
FROM lot JOIN product ON product.id = lot.product_id LEFT JOIN place ON place.id = lot.place_id
WHERE lot.quantity_left > 0 AND lot.expires_at <= @until::timestamptz AND (lot.expires_at, lot.id) > (@after_at::timestamptz, @after_id::uuid)
    AND (@closed_too::boolean OR NOT lot.closed)
ORDER BY lot.expires_at, lot.id LIMIT @page_limit;

-- What was used up in a period: issued, mixed or wasted, less what came back of it whenever
-- that was. What came out of a mix was used when it was mixed, and is not used again.
-- name: UsedBetween :many
SELECT product.id, product.display_name, product.unit, product.about_category, product.sheet_family, product.sheet_voc_grams_per_litre, product.about_density_grams_per_ml,
    used.quantity::numeric AS quantity
FROM (
    SELECT e.product_id, sum(GREATEST(e.quantity - coalesce(back.quantity, 0) - coalesce(mixed.quantity, 0), 0)) AS quantity
    FROM entry e
    LEFT JOIN LATERAL (SELECT sum(b.quantity) AS quantity FROM entry b WHERE b.of_id = e.id) back ON true
    LEFT JOIN LATERAL (
        SELECT -sum(m.quantity) AS quantity FROM movement m JOIN lot ON lot.id = m.lot_id AND lot.mix_id IS NOT NULL
        WHERE m.entry_id = e.id OR m.entry_id IN (SELECT b.id FROM entry b WHERE b.of_id = e.id)) mixed ON true
    WHERE e.at >= @from_at::timestamptz AND e.at < @to_at::timestamptz AND e.kind = 'went out' AND e.purpose IN ('issue', 'waste', 'mixing')
    GROUP BY e.product_id
) used JOIN product ON product.id = used.product_id
WHERE used.quantity > 0;

-- What was wasted, less what was put right of it since.
-- name: ListWaste :many
SELECT e.id, e.product_id, product.display_name, product.unit, (e.quantity - coalesce(back.quantity, 0))::numeric AS quantity, coalesce(gone.cost, 0)::bigint AS cost,
    e.cause, e.piece_id, e.stage_id, e.stage_kind, e.pass, e.at, e.reason, e.actor
FROM entry e JOIN product ON product.id = e.product_id
LEFT JOIN LATERAL (SELECT sum(b.quantity) AS quantity FROM entry b WHERE b.of_id = e.id) back ON true
LEFT JOIN LATERAL (
    SELECT -sum(m.cost) AS cost FROM movement m WHERE m.entry_id = e.id OR m.entry_id IN (SELECT b.id FROM entry b WHERE b.of_id = e.id)) gone ON true
WHERE e.purpose = 'waste' AND e.kind = 'went out' AND e.quantity > coalesce(back.quantity, 0) AND (e.at, e.id) < (@before_at::timestamptz, @before_id::uuid)
    AND (@cause::text = '' OR e.cause = @cause)
    AND (sqlc.narg(from_at)::timestamptz IS NULL OR e.at >= sqlc.narg(from_at))
    AND (sqlc.narg(to_at)::timestamptz IS NULL OR e.at < sqlc.narg(to_at))
ORDER BY e.at DESC, e.id DESC LIMIT @page_limit;

-- The products that a stage takes or took, or with whole_piece those of its piece.
-- name: ProductsAtStage :many
SELECT sqlc.embed(product) FROM product
WHERE id IN (
    SELECT n.product_id FROM need n WHERE n.state <> 'dropped' AND (n.stage_id = @stage_id OR @whole_piece::boolean AND n.piece_id = @piece_id)
    UNION SELECT e.product_id FROM entry e
    WHERE e.purpose = 'issue' AND (e.stage_id = @stage_id OR @whole_piece AND e.piece_id = @piece_id)
      AND NOT EXISTS (SELECT FROM entry b WHERE b.of_id = e.id AND b.purpose = 'take back'));

-- name: NoteOilyWork :exec
INSERT INTO oily_work (day, stage_id, person, piece_id, stage_kind, at)
VALUES (@day, @stage_id, @person, @piece_id, @stage_kind, @at)
ON CONFLICT (day, stage_id, person) DO UPDATE SET at = GREATEST(oily_work.at, excluded.at);

-- name: NoteShiftEnd :exec
UPDATE oily_work SET shift_end = @shift_end WHERE day = @day AND person = @person;

-- name: ForgetOilyWork :exec
DELETE FROM oily_work;

-- name: OilyWorkOn :many
SELECT sqlc.embed(w), (w.at > coalesce((SELECT max(confirmed_at) FROM oily_waste_check), '-infinity'))::boolean AS open
FROM oily_work w WHERE w.day = @day ORDER BY w.at, w.stage_id, w.person;

-- name: OpenOilyWork :many
SELECT sqlc.embed(w) FROM oily_work w
WHERE w.at > coalesce((SELECT max(confirmed_at) FROM oily_waste_check), '-infinity') ORDER BY w.day, w.at, w.stage_id, w.person;

-- name: InsertOilyCheck :exec
INSERT INTO oily_waste_check (id, confirmed_at, way, note, actor, recorded_at) VALUES (@id, @confirmed_at, @way, @note, @actor, @recorded_at);

-- name: OilyChecksBetween :many
SELECT id, confirmed_at, way, note, actor, recorded_at FROM oily_waste_check
WHERE confirmed_at >= @from_at AND confirmed_at < @to_at ORDER BY confirmed_at, id;
