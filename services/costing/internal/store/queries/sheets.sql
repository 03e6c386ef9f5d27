-- Adds to the sums of pieces; a tag of 0, an empty text and an empty state leave what is known alone;
-- the instant 0 is none.
-- name: AddToPieces :exec
INSERT INTO piece AS p (piece_id, tag, title, commission, kind, source, came_at, sales_state, channel, sold_at, finish, scrapped,
                        acquisition, labour, premium, burden, overhead, material, outside, rework, fees, revenue, tax,
                        labour_ms, rework_ms, running, revision, updated_at)
SELECT c.piece_id, c.tag, c.title, c.commission, c.kind, c.source, nullif(c.came_at, '0001-01-01 00:00:00+00'), c.sales_state, c.channel, nullif(c.sold_at, '0001-01-01 00:00:00+00'), c.finish, c.scrapped,
       c.acquisition, c.labour, c.premium, c.burden, c.overhead, c.material, c.outside, c.rework, c.fees, c.revenue, c.tax,
       c.labour_ms, c.rework_ms, c.running, 1, @now::timestamptz
FROM (SELECT unnest(@piece_id::uuid[]) AS piece_id, unnest(@tag::integer[]) AS tag, unnest(@title::text[]) AS title,
             unnest(@commission::boolean[]) AS commission, unnest(@kind::text[]) AS kind, unnest(@source::text[]) AS source, unnest(@came_at::timestamptz[]) AS came_at,
             unnest(@sales_state::text[]) AS sales_state, unnest(@channel::text[]) AS channel, unnest(@sold_at::timestamptz[]) AS sold_at,
             unnest(@finish::text[]) AS finish, unnest(@scrapped::boolean[]) AS scrapped,
             unnest(@acquisition::bigint[]) AS acquisition, unnest(@labour::bigint[]) AS labour, unnest(@premium::bigint[]) AS premium,
             unnest(@burden::bigint[]) AS burden, unnest(@overhead::bigint[]) AS overhead, unnest(@material::bigint[]) AS material,
             unnest(@outside::bigint[]) AS outside, unnest(@rework::bigint[]) AS rework, unnest(@fees::bigint[]) AS fees, unnest(@revenue::bigint[]) AS revenue,
             unnest(@tax::bigint[]) AS tax, unnest(@labour_ms::bigint[]) AS labour_ms, unnest(@rework_ms::bigint[]) AS rework_ms,
             unnest(@running::integer[]) AS running) AS c
ON CONFLICT (piece_id) DO UPDATE SET
    tag = CASE excluded.tag WHEN 0 THEN p.tag ELSE excluded.tag END,
    title = CASE excluded.tag WHEN 0 THEN p.title ELSE excluded.title END,
    commission = CASE excluded.tag WHEN 0 THEN p.commission ELSE excluded.commission END,
    kind = CASE excluded.tag WHEN 0 THEN p.kind ELSE excluded.kind END,
    source = CASE excluded.tag WHEN 0 THEN p.source ELSE excluded.source END,
    came_at = CASE excluded.tag WHEN 0 THEN p.came_at ELSE excluded.came_at END,
    sales_state = CASE excluded.sales_state WHEN '' THEN p.sales_state ELSE excluded.sales_state END,
    channel = CASE excluded.channel WHEN '' THEN p.channel ELSE excluded.channel END,
    sold_at = CASE excluded.sales_state WHEN '' THEN p.sold_at ELSE excluded.sold_at END,
    finish = CASE excluded.finish WHEN '' THEN p.finish ELSE excluded.finish END,
    scrapped = p.scrapped OR excluded.scrapped,
    acquisition = p.acquisition + excluded.acquisition, labour = p.labour + excluded.labour, premium = p.premium + excluded.premium,
    burden = p.burden + excluded.burden, overhead = p.overhead + excluded.overhead, material = p.material + excluded.material,
    outside = p.outside + excluded.outside, rework = p.rework + excluded.rework, fees = p.fees + excluded.fees, revenue = p.revenue + excluded.revenue, tax = p.tax + excluded.tax,
    labour_ms = p.labour_ms + excluded.labour_ms, rework_ms = p.rework_ms + excluded.rework_ms,
    running = p.running + excluded.running,
    revision = p.revision + 1, updated_at = excluded.updated_at;

-- name: GetPiece :one
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside, premium, burden, overhead, kind, source, came_at, channel, sold_at, finish
FROM piece WHERE piece_id = @piece_id;

-- All that a piece's sheet is made of, in small: while this stays the same, so does the
-- sheet. Rates and rules are only added and a person's version rises with the name. Doubts are what makes it
-- uncertain what weeks come to, whosever they are.
-- name: GetMakings :one
SELECT coalesce((SELECT p.revision FROM piece p WHERE p.piece_id = @piece), 0)::bigint AS revision,
       (SELECT count(*) FROM dead d WHERE d.resolved_at IS NULL AND d.piece_id = @piece::uuid) AS refused,
       (SELECT count(*) FROM parked w WHERE w.piece_id = @piece::uuid) AS waiting,
       (SELECT count(*) FROM pay_rate) AS rates,
       (SELECT coalesce(sum(n.version), 0)::bigint FROM person n) AS names,
       (SELECT count(*) FROM pay_rule) AS rules,
       (SELECT coalesce(bit_xor(hashtextextended(t.word, 0)), 0) FROM (
           SELECT t.person_id::text || t.week || t.since AS word FROM tangled_week t
           UNION ALL SELECT r.review_id::text FROM review r WHERE r.since < @before
           UNION ALL SELECT c.entry_id::text FROM clock c WHERE c.started_at < @before
           UNION ALL SELECT d.id::text FROM dead d WHERE d.resolved_at IS NULL AND d.producer = @producer
           UNION ALL SELECT w.aggregate_id::text || w.version FROM parked w WHERE w.producer = @producer) AS t)::bigint AS doubts;

-- name: ListPieces :many
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside, premium, burden, overhead, kind, source, came_at, channel, sold_at, finish
FROM piece WHERE (tag, piece_id) > (@after_tag::integer, @after_id::uuid) ORDER BY tag, piece_id LIMIT @page_limit;

-- name: SumPieces :one
SELECT coalesce(sum(acquisition), 0)::bigint AS acquisition, coalesce(sum(labour), 0)::bigint AS labour, coalesce(sum(material), 0)::bigint AS material,
       coalesce(sum(rework), 0)::bigint AS rework, coalesce(sum(fees), 0)::bigint AS fees, coalesce(sum(revenue), 0)::bigint AS revenue,
       coalesce(sum(tax), 0)::bigint AS tax, coalesce(sum(labour_ms), 0)::bigint AS labour_ms, coalesce(sum(rework_ms), 0)::bigint AS rework_ms,
       coalesce(sum(outside), 0)::bigint AS outside, coalesce(sum(premium), 0)::bigint AS premium, coalesce(sum(burden), 0)::bigint AS burden,
       coalesce(sum(overhead), 0)::bigint AS overhead
FROM piece;
