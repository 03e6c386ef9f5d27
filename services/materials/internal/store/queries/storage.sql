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

-- What stands where, of what is or may be a liquid, also in cans that are counted by the piece: a
-- row for each product, mix and place.
-- name: StoredLiquids :many
SELECT product.id, product.display_name, product.unit, product.sheet_carrier, product.about_density_grams_per_ml,
    product.about_flash_point_celsius, product.about_boiling_point_celsius, lot.mix_id,
    sum(lot.quantity_left)::numeric AS quantity, max(lot.received_at)::timestamptz AS newest_at,
    place.id AS place_id, place.word, place.display_name AS place_name, place.kind, place.area
FROM lot JOIN product ON product.id = lot.product_id LEFT JOIN place ON place.id = lot.place_id
WHERE lot.quantity_left > 0 AND (product.unit = 'L' OR product.about_flash_point_celsius IS NOT NULL OR product.about_boiling_point_celsius IS NOT NULL
    OR product.about_density_grams_per_ml > 0 OR product.sheet_family <> '' OR product.about_category = ANY (@liquids::text[]))
GROUP BY product.id, place.id, lot.mix_id
ORDER BY product.display_name, product.id, place.word, lot.mix_id;

-- What went into some mixes, and into the mixes among that; of those that have a flash point of
-- their own, they as well.
-- name: LiquidsOfMixes :many
WITH RECURSIVE went (whole_id, product_id, mix_id) AS (
    SELECT e.mix_id, e.product_id, lot.mix_id FROM entry e LEFT JOIN movement m ON m.entry_id = e.id LEFT JOIN lot ON lot.id = m.lot_id
    WHERE e.mix_id = ANY (@mixes::uuid[]) AND e.kind = 'went out'
    UNION
    SELECT went.whole_id, e.product_id, lot.mix_id
    FROM went JOIN entry e ON e.mix_id = went.mix_id AND e.kind = 'went out' LEFT JOIN movement m ON m.entry_id = e.id LEFT JOIN lot ON lot.id = m.lot_id
)
SELECT DISTINCT went.whole_id::uuid AS whole_id, product.id, product.sheet_carrier, product.about_flash_point_celsius, product.about_boiling_point_celsius
FROM went JOIN product ON product.id = went.product_id
WHERE went.mix_id IS NULL OR product.about_flash_point_celsius IS NOT NULL
ORDER BY 1, product.id;

-- name: ListExpiring :many
SELECT lot.id, lot.product_id, product.display_name, product.unit, lot.quantity_left, lot.cost_left, lot.expires_at::timestamptz AS expires_at, lot.opened, lot.closed,
    coalesce(place.word, '') AS place_word
FROM lot JOIN product ON product.id = lot.product_id LEFT JOIN place ON place.id = lot.place_id
WHERE lot.quantity_left > 0 AND lot.expires_at <= @until::timestamptz AND (lot.expires_at, lot.id) > (@after_at::timestamptz, @after_id::uuid)
    AND (@closed_too::boolean OR NOT lot.closed)
ORDER BY lot.expires_at, lot.id LIMIT @page_limit;

-- What was used up in a period: issued, mixed or wasted, less what came back of it whenever
-- that was. What came out of a mix was used when it was mixed, and is not used again.
-- What counts found missing, less what they found more, stands by itself.
-- name: UsedBetween :many
SELECT product.id, product.display_name, product.unit, product.about_category, product.sheet_family, product.sheet_voc_grams_per_litre, product.about_voc_grams_per_litre,
    product.about_density_grams_per_ml, used.missing::boolean AS missing, used.quantity::numeric AS quantity
FROM (
    SELECT e.product_id, false AS missing, sum(GREATEST(e.quantity - coalesce(back.quantity, 0) - coalesce(mixed.quantity, 0), 0)) AS quantity
    FROM entry e
    LEFT JOIN LATERAL (
        SELECT sum(b.quantity) AS quantity FROM entry b
        WHERE b.of_id = e.id AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = b.id AND u.kind = 'undone')) back ON true
    LEFT JOIN LATERAL (
        SELECT -sum(m.quantity) AS quantity FROM movement m JOIN lot ON lot.id = m.lot_id AND lot.mix_id IS NOT NULL
        WHERE m.entry_id = e.id OR m.entry_id IN (SELECT b.id FROM entry b WHERE b.of_id = e.id)) mixed ON true
    WHERE e.at >= @from_at::timestamptz AND e.at < @to_at::timestamptz AND e.kind = 'went out' AND e.purpose IN ('issue', 'waste', 'mixing')
    GROUP BY e.product_id
    UNION ALL
    SELECT e.product_id, true, -sum(m.quantity)
    FROM entry e JOIN movement m ON m.entry_id = e.id JOIN lot ON lot.id = m.lot_id AND lot.mix_id IS NULL
    WHERE e.at >= @from_at AND e.at < @to_at AND e.purpose = 'count'
        AND NOT EXISTS (SELECT FROM entry b WHERE b.of_id = e.id AND b.kind = 'undone')
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

-- The products that a stage takes or took, or with whole_piece those of its piece, with what they
-- were mixed of: as it was mixed, or as their recipe says where no mix is known.
-- name: ProductsAtStage :many
WITH RECURSIVE held (product_id, mix_id) AS (
    SELECT n.product_id, NULL::uuid FROM need n WHERE n.state <> 'dropped' AND (n.stage_id = @stage_id OR @whole_piece::boolean AND n.piece_id = @piece_id)
    UNION
    SELECT e.product_id, lot.mix_id FROM entry e LEFT JOIN movement m ON m.entry_id = e.id LEFT JOIN lot ON lot.id = m.lot_id
    WHERE e.purpose IN ('issue', 'waste') AND (e.stage_id = @stage_id OR @whole_piece AND e.piece_id = @piece_id)
        AND NOT EXISTS (SELECT FROM entry b WHERE b.of_id = e.id AND b.kind = 'undone')
    UNION
    SELECT part.product_id, part.mix_id FROM held CROSS JOIN LATERAL (
        SELECT e.product_id, lot.mix_id FROM entry e LEFT JOIN movement m ON m.entry_id = e.id LEFT JOIN lot ON lot.id = m.lot_id
        WHERE e.mix_id = held.mix_id AND e.kind = 'went out'
        UNION
        SELECT p.product_id, NULL::uuid FROM recipe r JOIN recipe_part p ON p.recipe_id = r.id WHERE r.makes_id = held.product_id AND held.mix_id IS NULL
    ) part
)
SELECT sqlc.embed(product) FROM product WHERE id IN (SELECT product_id FROM held);

-- What an entry took, with what that was mixed of, as ProductsAtStage has it.
-- name: ProductsOfEntry :many
WITH RECURSIVE held (product_id, mix_id) AS (
    SELECT e.product_id, lot.mix_id FROM entry e LEFT JOIN movement m ON m.entry_id = e.id LEFT JOIN lot ON lot.id = m.lot_id WHERE e.id = @entry_id
    UNION
    SELECT part.product_id, part.mix_id FROM held CROSS JOIN LATERAL (
        SELECT e.product_id, lot.mix_id FROM entry e LEFT JOIN movement m ON m.entry_id = e.id LEFT JOIN lot ON lot.id = m.lot_id
        WHERE e.mix_id = held.mix_id AND e.kind = 'went out'
        UNION
        SELECT p.product_id, NULL::uuid FROM recipe r JOIN recipe_part p ON p.recipe_id = r.id WHERE r.makes_id = held.product_id AND held.mix_id IS NULL
    ) part
)
SELECT sqlc.embed(product) FROM product WHERE id IN (SELECT product_id FROM held);

-- name: NoteOilyWork :exec
INSERT INTO oily_work (day, stage_id, person, known_by, entry_id, pass, piece_id, stage_kind, at)
VALUES (@day, @stage_id, @person, @known_by, @entry_id, @pass, @piece_id, @stage_kind, @at)
ON CONFLICT (day, stage_id, person, known_by, entry_id) DO UPDATE
SET at = GREATEST(oily_work.at, excluded.at), pass = GREATEST(oily_work.pass, excluded.pass);

-- Null: nobody can say, and it is as it was.
-- name: NoteShiftEnd :exec
UPDATE oily_work SET shift_end = coalesce(sqlc.narg(shift_end)::timestamptz, shift_end), asked_at = greatest(asked_at, sqlc.narg(asked_at)::timestamptz)
WHERE day = @day AND person = @person;

-- Whose shift of a day on which they made oily waste that is open nobody asked for since.
-- name: ShiftsToAsk :many
SELECT w.day, w.person, max(w.at)::timestamptz AS at FROM oily_work w
WHERE w.at > (SELECT at FROM oily_put_away) AND (w.asked_at IS NULL OR w.asked_at < @since)
GROUP BY w.day, w.person ORDER BY w.day, w.person;

-- What events told; what was issued and wasted is known from nobody else.
-- name: ForgetOilyWork :exec
DELETE FROM oily_work WHERE known_by <> 'entry';

-- name: OilyWorkOn :many
SELECT sqlc.embed(w), (w.at > (SELECT at FROM oily_put_away))::boolean AS open
FROM oily_work_done w WHERE w.day = @day ORDER BY w.at, w.stage_id, w.person;

-- name: OpenOilyWork :many
SELECT sqlc.embed(w) FROM oily_work_done w
WHERE w.at > (SELECT at FROM oily_put_away) ORDER BY w.day, w.at, w.stage_id, w.person;

-- name: InsertOilyCheck :exec
INSERT INTO oily_waste_check (id, confirmed_at, way, note, actor, recorded_at) VALUES (@id, @confirmed_at, @way, @note, @actor, @recorded_at);

-- name: LockOilyCheck :one
SELECT id FROM oily_waste_check WHERE id = @id FOR NO KEY UPDATE;

-- name: OilyCheck :one
SELECT sqlc.embed(c), w.withdrawn_at, coalesce(w.reason, '') AS withdraw_reason, coalesce(w.actor, '') AS withdrawn_by
FROM oily_waste_check c LEFT JOIN oily_waste_withdrawal w ON w.check_id = c.id WHERE c.id = @id;

-- name: InsertOilyWithdrawal :exec
INSERT INTO oily_waste_withdrawal (check_id, withdrawn_at, reason, actor) VALUES (@check_id, @withdrawn_at, @reason, @actor);

-- name: OilyChecksBetween :many
SELECT sqlc.embed(c), w.withdrawn_at, coalesce(w.reason, '') AS withdraw_reason, coalesce(w.actor, '') AS withdrawn_by
FROM oily_waste_check c LEFT JOIN oily_waste_withdrawal w ON w.check_id = c.id
WHERE c.confirmed_at >= @from_at AND c.confirmed_at < @to_at ORDER BY c.confirmed_at, c.id;
