-- name: InsertSentBack :exec
INSERT INTO sent_back (event_id, stage_id, piece_id, stage_kind, because_of, occurred_at, recorded_at)
SELECT @event_id::uuid, unnest(@stages::uuid[]), @piece_id::uuid, unnest(@kinds::text[]), @because_of::uuid, @occurred_at::timestamptz, @recorded_at::timestamptz;

-- name: InsertInspection :exec
INSERT INTO inspection (event_id, piece_id, sent_back, defects, recorded_at) VALUES (@event_id, @piece_id, @sent_back, @defects, @recorded_at);

-- What was spent on doing things again in a time, by when the work was done: the other sides of what counts as rework.
-- name: SpentAgain :many
SELECT p.piece_id::uuid AS piece_id, coalesce(p.stage_id, '00000000-0000-0000-0000-000000000000')::uuid AS stage_id, p.stage_kind, p.group_kind, p.account,
       p.occurred_at, coalesce(t.started_at, p.occurred_at)::timestamptz AS worked_at, (-sum(p.amount))::bigint AS amount
FROM posting p
LEFT JOIN LATERAL (SELECT min(s.started_at) AS started_at FROM stretch s WHERE s.event_id = p.event_id AND s.stage_id = p.stage_id AND s.rework) AS t ON p.group_kind = ''
WHERE p.again AND p.bucket = '' AND p.piece_id IS NOT NULL AND p.occurred_at >= @begins AND p.occurred_at < @ends
GROUP BY p.piece_id, p.stage_id, p.stage_kind, p.group_kind, p.account, p.occurred_at, coalesce(t.started_at, p.occurred_at) HAVING sum(p.amount) <> 0
ORDER BY p.piece_id, p.stage_id, p.occurred_at, p.account, worked_at;

-- Hands-on time on doing things again, by its end, as what it cost is dated.
-- name: WorkedAgain :many
SELECT piece_id::uuid AS piece_id, stage_id::uuid AS stage_id, stage_kind, ended_at AS occurred_at, started_at AS worked_at,
       round(extract(epoch FROM sum(sign * (ended_at - started_at))) * 1000)::bigint AS ms
FROM stretch WHERE rework AND piece_id IS NOT NULL AND ended_at >= @begins AND ended_at < @ends
GROUP BY piece_id, stage_id, stage_kind, ended_at, started_at HAVING round(extract(epoch FROM sum(sign * (ended_at - started_at))) * 1000) <> 0
ORDER BY piece_id, stage_id, ended_at, started_at;

-- What of pieces was sent back, and the defects for which an inspection did that: one of the same moment.
-- name: SentBackOf :many
SELECT DISTINCT ON (b.event_id, b.stage_id) b.event_id, b.stage_id, b.piece_id, b.stage_kind, b.occurred_at, coalesce(i.defects, '{}')::text[] AS defects
FROM sent_back b LEFT JOIN inspection i ON i.piece_id = b.piece_id AND i.sent_back = b.because_of AND i.recorded_at = b.recorded_at
WHERE b.piece_id = ANY (@pieces::uuid[]) ORDER BY b.event_id, b.stage_id, i.event_id;

-- Who worked how long on the first pass of stages of pieces.
-- name: FirstHands :many
SELECT w.piece_id::uuid AS piece_id, w.stage_id::uuid AS stage_id, w.stage_kind, w.person_id, w.ms, coalesce(p.name, w.person_name)::text AS person_name
FROM (SELECT piece_id, stage_id, stage_kind, person_id, max(s.person_name)::text AS person_name, round(extract(epoch FROM sum(sign * (ended_at - started_at))) * 1000)::bigint AS ms
      FROM stretch s WHERE piece_id = ANY (@pieces::uuid[]) AND NOT rework GROUP BY piece_id, stage_id, stage_kind, person_id) AS w
LEFT JOIN person p ON p.person_id = w.person_id WHERE w.ms > 0 ORDER BY w.piece_id, w.stage_id, p.name, w.person_id;
