-- What open needs still reserve: of a product that is counted as its plan counts it.
-- name: OpenNeeds :many
SELECT need.product_id, need.piece_id, need.stage_id, need.pass, need.stage_title, need.stage_kind, need.wanted_at, need.seconds_to, need.latest_at, need.noted_at,
    (need.quantity - coalesce(went.quantity, 0))::numeric AS reserved
FROM need JOIN product ON product.id = need.product_id AND product.unit = need.unit
    LEFT JOIN LATERAL (
        SELECT sum(CASE kind WHEN 'went out' THEN entry.quantity ELSE -entry.quantity END) AS quantity FROM entry
        WHERE entry.stage_id = need.stage_id AND entry.product_id = need.product_id AND entry.pass = need.pass AND entry.purpose IN ('issue', 'return', 'take back')
            AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = entry.id AND u.purpose = 'undo')
    ) went ON true
WHERE need.state = 'open' AND (sqlc.narg(products)::uuid[] IS NULL OR need.product_id = ANY (sqlc.narg(products)::uuid[]))
    AND need.quantity > coalesce(went.quantity, 0)
ORDER BY need.wanted_at, need.stage_id, need.product_id, need.pass;

-- What was used from an instant on, by days since then; but for what went into what is mixed of it
-- and nobody sells, for what is used of that is known.
-- name: UsedOfAll :many
SELECT product_id, array_agg(floor(date_part('epoch', at - @from_at::timestamptz) / 86400)::integer)::integer[] AS days,
    array_agg(ahead)::integer[] AS ahead, array_agg(quantity)::double precision[] AS quantities
FROM used WHERE at >= @from_at AND at < @until_at::timestamptz AND NOT coalesce(makes_id = ANY (@mixed::uuid[]), false) GROUP BY product_id;

-- name: UsedOfSome :many
SELECT product_id, array_agg(floor(date_part('epoch', at - @from_at::timestamptz) / 86400)::integer)::integer[] AS days,
    array_agg(ahead)::integer[] AS ahead, array_agg(quantity)::double precision[] AS quantities
FROM used WHERE at >= @from_at AND at < @until_at::timestamptz AND product_id = ANY (@products::uuid[]) AND NOT coalesce(makes_id = ANY (@mixed::uuid[]), false) GROUP BY product_id;

-- name: GetNeedPieces :many
SELECT sqlc.embed(need_piece) FROM need_piece WHERE piece_id = ANY (@pieces::uuid[]);

-- name: NeedsOfPieces :many
SELECT sqlc.embed(need) FROM need WHERE piece_id = ANY (@pieces::uuid[]);

-- name: SaveNeedPiece :exec
INSERT INTO need_piece (piece_id, planned_at, promised_at, stopped, sold_at, stages) VALUES (@piece_id, @planned_at, @promised_at, @stopped, @sold_at, @stages)
ON CONFLICT (piece_id) DO UPDATE SET planned_at = excluded.planned_at, promised_at = excluded.promised_at, stopped = excluded.stopped, sold_at = excluded.sold_at, stages = excluded.stages;

-- How much it really takes is worked out for all at once afterwards.
-- name: SaveNeed :exec
INSERT INTO need (stage_id, product_id, pass, piece_id, stage_title, stage_kind, method, unit, planned, quantity, wanted_at, seconds_to, latest_at, state, noted_at, done_at)
VALUES (@stage_id, @product_id, @pass, @piece_id, @stage_title, @stage_kind, @method, @unit, @planned, @planned, @wanted_at, @seconds_to, @latest_at, @state, @noted_at, @done_at)
ON CONFLICT (stage_id, product_id, pass) DO UPDATE SET stage_title = excluded.stage_title, stage_kind = excluded.stage_kind, method = excluded.method, unit = excluded.unit,
    planned = excluded.planned, wanted_at = excluded.wanted_at, seconds_to = excluded.seconds_to, latest_at = excluded.latest_at, state = excluded.state, done_at = excluded.done_at;

-- By what was learned of the product, or else of how it is put on; up to a thousandth.
-- name: SetQuantities :many
UPDATE need SET quantity = wanted.quantity
FROM (
    SELECT stage_id, product_id, pass, trim_scale(ceil(1000 * planned * coalesce(
        (SELECT factor FROM usage_factor f WHERE f.product_id = need.product_id AND f.method = need.method),
        (SELECT factor FROM usage_factor f WHERE f.product_id = @any_product AND f.method = need.method), 1)) / 1000) AS quantity
    FROM need WHERE state = 'open'
) wanted
WHERE wanted.stage_id = need.stage_id AND wanted.product_id = need.product_id AND wanted.pass = need.pass AND wanted.quantity <> need.quantity
RETURNING need.product_id;

-- What stages took that were finished and had planned it: what was issued and did not come back,
-- and what was lost at them. What is done over takes as much as the damage asks for, so that is
-- beside it.
-- name: Taken :many
SELECT need.product_id, need.method, need.planned, took.quantity::numeric AS quantity
FROM need JOIN product ON product.id = need.product_id AND product.unit = need.unit
    JOIN (
        SELECT stage_id, product_id, pass, sum(CASE kind WHEN 'went out' THEN quantity ELSE -quantity END) AS quantity,
            sum(CASE WHEN purpose = 'waste' THEN 0 WHEN kind = 'went out' THEN quantity ELSE -quantity END) AS put_on
        FROM entry WHERE stage_id IS NOT NULL AND purpose IN ('issue', 'return', 'take back', 'waste')
            AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = entry.id AND u.purpose = 'undo')
        GROUP BY stage_id, product_id, pass
    ) took ON took.stage_id = need.stage_id AND took.product_id = need.product_id AND took.pass = need.pass AND took.put_on > 0
WHERE need.state = 'done' AND need.pass = 1 AND need.planned > 0
    AND (sqlc.narg(methods)::text[] IS NULL OR need.method = ANY (sqlc.narg(methods)::text[]));

-- name: LockNeeds :exec
SELECT pg_advisory_xact_lock(@lock);

-- The methods of finished stages of which something was noted since it was last asked.
-- name: TakeUsageNoted :many
WITH noted AS (DELETE FROM usage_noted RETURNING stage_id, product_id, pass)
SELECT DISTINCT need.method FROM noted JOIN need ON need.stage_id = noted.stage_id AND need.product_id = noted.product_id AND need.pass = noted.pass
WHERE need.state = 'done' ORDER BY need.method;

-- name: ForgetFactors :exec
DELETE FROM usage_factor WHERE method = ANY (@methods::text[]);

-- name: SaveFactor :exec
INSERT INTO usage_factor (product_id, method, factor) VALUES (@product_id, @method, @factor);

-- name: ForgetNeeds :exec
DELETE FROM need;

-- name: ForgetNeedPieces :exec
DELETE FROM need_piece;

-- name: ForgetAllFactors :exec
DELETE FROM usage_factor;

-- What was issued is counted as the product is; where that is not how it is planned, it takes
-- nothing off what is reserved.
-- name: ListNeeds :many
SELECT sqlc.embed(need), coalesce(product.display_name, '') AS product_name, coalesce(product.unit, '') AS product_unit, coalesce(went.quantity, 0)::numeric AS issued
FROM need LEFT JOIN product ON product.id = need.product_id
    LEFT JOIN LATERAL (
        SELECT sum(CASE kind WHEN 'went out' THEN entry.quantity ELSE -entry.quantity END) AS quantity FROM entry
        WHERE entry.stage_id = need.stage_id AND entry.product_id = need.product_id AND entry.pass = need.pass AND entry.purpose IN ('issue', 'return', 'take back')
            AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = entry.id AND u.purpose = 'undo')
    ) went ON true
WHERE need.state = @state AND (need.wanted_at, need.stage_id, need.product_id, need.pass) > (@after_at::timestamptz, @after_stage::uuid, @after_product::uuid, @after_pass::integer)
    AND (sqlc.narg(product_id)::uuid IS NULL OR need.product_id = sqlc.narg(product_id))
    AND (sqlc.narg(piece_id)::uuid IS NULL OR need.piece_id = sqlc.narg(piece_id))
ORDER BY need.wanted_at, need.stage_id, need.product_id, need.pass LIMIT @page_limit;

-- name: ListStageUsage :many
SELECT sqlc.embed(need), coalesce(took.quantity, 0)::numeric AS quantity, coalesce(took.put_on, 0)::numeric AS put_on
FROM need
    LEFT JOIN LATERAL (
        SELECT sum(CASE kind WHEN 'went out' THEN entry.quantity ELSE -entry.quantity END) AS quantity,
            sum(CASE WHEN purpose = 'waste' THEN 0 WHEN kind = 'went out' THEN entry.quantity ELSE -entry.quantity END) AS put_on
        FROM entry
        WHERE entry.stage_id = need.stage_id AND entry.product_id = need.product_id AND entry.pass = need.pass AND entry.purpose IN ('issue', 'return', 'take back', 'waste')
            AND NOT EXISTS (SELECT FROM entry u WHERE u.of_id = entry.id AND u.purpose = 'undo')
    ) took ON true
WHERE need.product_id = @product_id AND need.state = 'done' AND (need.done_at, need.stage_id, need.pass) < (@before_at::timestamptz, @before_stage::uuid, @before_pass::integer)
ORDER BY need.done_at DESC, need.stage_id DESC, need.pass DESC LIMIT @page_limit;

-- name: GetUsageFactor :many
SELECT product_id, factor FROM usage_factor WHERE method = @method AND (product_id = @product_id OR product_id = @any_product);

-- name: NamedProducts :many
SELECT id, display_name, name_key, unit FROM product WHERE id = ANY (@products::uuid[]);
