-- name: MarksOf :many
SELECT event_id, piece_id, kind, occurred_at, recorded_at FROM mark WHERE piece_id = ANY (@pieces::uuid[]) ORDER BY event_id;

-- What has gone into pieces, by when; it stands in process until the piece moves on.
-- name: CostsOf :many
SELECT piece_id::uuid AS piece_id, account, occurred_at, sum(amount)::bigint AS amount FROM posting
WHERE piece_id = ANY (@pieces::uuid[]) AND bucket IN ('acquisition', 'labour', 'premium', 'burden', 'overhead', 'material', 'outside', 'rework')
GROUP BY piece_id, account, occurred_at HAVING sum(amount) <> 0 ORDER BY piece_id, occurred_at, account;

-- name: InsertMark :exec
INSERT INTO mark (event_id, piece_id, kind, occurred_at, recorded_at) VALUES (@event_id, @piece_id, @kind, @occurred_at, @recorded_at);
