-- name: ListStandardRates :many
SELECT id, effective_day, effective_at, per_hour, actor, recorded_at FROM standard_rate WHERE id > @after ORDER BY id LIMIT @page_limit;

-- name: StandardRates :many
SELECT id, effective_day, effective_at, per_hour, actor, recorded_at FROM standard_rate ORDER BY effective_at, recorded_at, id;

-- name: InsertStandardRate :exec
INSERT INTO standard_rate (id, effective_day, effective_at, per_hour, actor, recorded_at) VALUES (@id, @effective_day, @effective_at, @per_hour, @actor, @recorded_at);

-- What an hour of everybody costs at an instant, by the hours that they worked on pieces before it.
-- name: RatesByHours :many
SELECT w.person_id::uuid AS person_id, r.per_hour, w.ms FROM (
    SELECT s.person_id, round(extract(epoch FROM sum(s.sign * (s.ended_at - s.started_at))) * 1000)::bigint AS ms
    FROM stretch s WHERE s.piece_id IS NOT NULL AND s.ended_at <= @at::timestamptz GROUP BY s.person_id) AS w
JOIN LATERAL (SELECT per_hour FROM pay_rate p WHERE p.person_id = w.person_id AND p.effective_at <= @at ORDER BY p.effective_at DESC, p.recorded_at DESC, p.id DESC LIMIT 1) AS r ON true
WHERE w.ms > 0 ORDER BY w.person_id;

-- Stages of plans, of a piece or of all, of a kind or of all, and whenever or of those that were done in a time. What is done has the
-- plan that held then.
-- name: StagesFor :many
SELECT c.stage_id, c.piece_id, c.kind, c.key, c.part_label, c.planned_ms, c.state, c.done_at, coalesce(o.tag, 0)::integer AS tag, coalesce(o.title, '')::text AS title
FROM (SELECT stage_id, piece_id, kind, key, part_label, coalesce(held_ms, planned_ms) AS planned_ms, state, done_at FROM stage
      WHERE (sqlc.narg(piece)::uuid IS NULL OR piece_id = sqlc.narg(piece)) AND (@kind::text = '' OR kind = @kind)
  AND (@always::boolean OR done_at >= @begins::timestamptz AND done_at < @ends::timestamptz)) AS c
LEFT JOIN piece o ON o.piece_id = c.piece_id ORDER BY c.stage_id;

-- How long stages of the pieces took, that these stages are of.
-- name: TimeOfStages :many
SELECT t.stage_id::uuid AS stage_id, coalesce(round(extract(epoch FROM sum(t.sign * (t.ended_at - t.started_at)) FILTER (WHERE NOT t.rework)) * 1000), 0)::bigint AS first_ms,
       coalesce(round(extract(epoch FROM sum(t.sign * (t.ended_at - t.started_at)) FILTER (WHERE t.rework)) * 1000), 0)::bigint AS later_ms,
       (coalesce(sum(t.sign) FILTER (WHERE t.started_at < coalesce(f.rated, 'infinity')), 0) <> 0)::boolean AS unrated
FROM stretch t LEFT JOIN (SELECT r.person_id, min(r.effective_at) AS rated FROM pay_rate r GROUP BY r.person_id) AS f ON f.person_id = t.person_id
WHERE t.piece_id IN (SELECT piece_id FROM stage
                     WHERE (sqlc.narg(piece)::uuid IS NULL OR piece_id = sqlc.narg(piece)) AND (@kind::text = '' OR kind = @kind)
  AND (@always::boolean OR done_at >= @begins::timestamptz AND done_at < @ends::timestamptz))
GROUP BY t.stage_id ORDER BY t.stage_id;

-- What was paid for that.
-- name: PayOfStages :many
SELECT p.stage_id::uuid AS stage_id, (-sum(p.amount))::bigint AS pay FROM posting p
WHERE p.piece_id IN (SELECT piece_id FROM stage
                     WHERE (sqlc.narg(piece)::uuid IS NULL OR piece_id = sqlc.narg(piece)) AND (@kind::text = '' OR kind = @kind)
  AND (@always::boolean OR done_at >= @begins::timestamptz AND done_at < @ends::timestamptz))
  AND p.account = ANY (@wages::text[]) AND p.group_kind = '' AND p.stage_id IS NOT NULL
GROUP BY p.stage_id ORDER BY p.stage_id;

-- Pieces that were sold in a time and are so still, also those that were scrapped at the same moment.
-- name: SoldPieces :many
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside, premium, burden, overhead, kind, source, came_at, channel, sold_at, finish
FROM piece WHERE sales_state = 'sold' AND sold_at >= @begins::timestamptz AND sold_at < @ends::timestamptz ORDER BY tag, piece_id;

-- Pieces that were given up in a time and are not sold, and when they were.
-- name: GivenUp :many
SELECT p.piece_id, g.given_up_at FROM piece p
CROSS JOIN LATERAL (SELECT max(m.occurred_at)::timestamptz AS given_up_at FROM mark m WHERE m.piece_id = p.piece_id AND m.kind = 'scrapped') AS g
WHERE p.scrapped AND p.sales_state <> 'sold' AND g.given_up_at >= @begins::timestamptz AND g.given_up_at < @ends::timestamptz ORDER BY p.tag, p.piece_id;

-- What sales left that were taken back, of pieces that are in hand again and were returned in a time.
-- name: LeftByReturns :one
SELECT count(*)::integer AS pieces, coalesce(sum(p.fees - p.revenue), 0)::bigint AS amount FROM piece p
CROSS JOIN LATERAL (SELECT max(m.occurred_at) AS returned_at FROM mark m WHERE m.piece_id = p.piece_id AND m.kind = 'returned') AS b
WHERE NOT p.scrapped AND p.sales_state <> 'sold' AND p.fees <> p.revenue AND b.returned_at >= @begins::timestamptz AND b.returned_at < @ends::timestamptz;

-- Who worked how long on pieces.
-- name: HoursOf :many
SELECT w.piece_id::uuid AS piece_id, w.person_id, w.ms, coalesce(p.name, w.person_name)::text AS person_name
FROM (SELECT piece_id, person_id, max(s.person_name)::text AS person_name, round(extract(epoch FROM sum(sign * (ended_at - started_at))) * 1000)::bigint AS ms
      FROM stretch s WHERE piece_id = ANY (@pieces::uuid[]) GROUP BY piece_id, person_id) AS w
LEFT JOIN person p ON p.person_id = w.person_id WHERE w.ms > 0 ORDER BY w.piece_id, w.person_id;

-- Pieces that are neither sold nor given up, the oldest first; one that intake has not told of yet comes last.
-- name: PiecesInHand :many
SELECT c.piece_id, c.tag, c.title, c.commission, c.sales_state, c.scrapped, c.acquisition, c.labour, c.material, c.rework, c.fees, c.revenue, c.tax,
       c.labour_ms, c.rework_ms, c.running, c.revision, c.updated_at, c.outside, c.premium, c.burden, c.overhead, c.kind, c.source, c.came_at, c.channel, c.sold_at, c.finish
FROM piece c
CROSS JOIN LATERAL (SELECT coalesce(sum(CASE m.kind WHEN 'finished' THEN 1 WHEN 'reopened' THEN -1 ELSE 0 END), 0) > 0 AS finished FROM mark m WHERE m.piece_id = c.piece_id) AS f
WHERE NOT c.scrapped AND c.sales_state <> 'sold' AND (@show::text = '' OR f.finished = (@show = 'finished'))
  AND (coalesce(c.came_at, '9999-12-31 00:00:00+00'), c.piece_id) > (@after_at::timestamptz, @after_id::uuid)
ORDER BY coalesce(c.came_at, '9999-12-31 00:00:00+00'), c.piece_id LIMIT @page_limit;

-- Those of them that cost most so far.
-- name: CostliestInHand :many
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside, premium, burden, overhead, kind, source, came_at, channel, sold_at, finish
FROM piece WHERE NOT scrapped AND sales_state <> 'sold'
ORDER BY acquisition + labour + premium + burden + overhead + material + outside + rework DESC, piece_id LIMIT @page_limit;

-- What is known of pieces in hand beside their sheets.
-- name: StandOf :many
SELECT p.piece_id::uuid AS piece_id,
       coalesce((SELECT max(t.ended_at) FROM (SELECT s.entry_id, s.ended_at FROM stretch s WHERE s.piece_id = p.piece_id
                                              GROUP BY s.entry_id, s.stage_id, s.started_at, s.ended_at HAVING sum(s.sign) > 0) AS t), '0001-01-01 00:00:00+00')::timestamptz AS last_work,
       (SELECT count(*) FROM stage s WHERE s.piece_id = p.piece_id AND s.state = 'done')::integer AS done,
       (SELECT count(*) FROM stage s WHERE s.piece_id = p.piece_id AND s.state IN ('open', 'done'))::integer AS stages,
       coalesce((SELECT max(m.occurred_at) FILTER (WHERE m.kind = 'finished') FROM mark m WHERE m.piece_id = p.piece_id
                 HAVING sum(CASE m.kind WHEN 'finished' THEN 1 WHEN 'reopened' THEN -1 ELSE 0 END) > 0), '0001-01-01 00:00:00+00')::timestamptz AS finished_at
FROM (SELECT unnest(@pieces::uuid[]) AS piece_id) AS p ORDER BY p.piece_id;

-- name: SumInHand :one
SELECT coalesce(sum(acquisition), 0)::bigint AS acquisition, coalesce(sum(labour), 0)::bigint AS labour, coalesce(sum(material), 0)::bigint AS material,
       coalesce(sum(rework), 0)::bigint AS rework, coalesce(sum(fees), 0)::bigint AS fees, coalesce(sum(revenue), 0)::bigint AS revenue,
       coalesce(sum(tax), 0)::bigint AS tax, coalesce(sum(labour_ms), 0)::bigint AS labour_ms, coalesce(sum(rework_ms), 0)::bigint AS rework_ms,
       coalesce(sum(outside), 0)::bigint AS outside, coalesce(sum(premium), 0)::bigint AS premium, coalesce(sum(burden), 0)::bigint AS burden,
       coalesce(sum(overhead), 0)::bigint AS overhead, count(*) FILTER (WHERE f.finished)::integer AS finished, count(*) FILTER (WHERE NOT f.finished)::integer AS unfinished
FROM piece c
CROSS JOIN LATERAL (SELECT coalesce(sum(CASE m.kind WHEN 'finished' THEN 1 WHEN 'reopened' THEN -1 ELSE 0 END), 0) > 0 AS finished FROM mark m WHERE m.piece_id = c.piece_id) AS f
WHERE NOT c.scrapped AND c.sales_state <> 'sold';

-- Pieces that were bought and came in in a time, whatever became of them.
-- name: BoughtPieces :many
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside, premium, burden, overhead, kind, source, came_at, channel, sold_at, finish
FROM piece WHERE NOT commission AND came_at >= @begins::timestamptz AND came_at < @ends::timestamptz ORDER BY tag, piece_id;
