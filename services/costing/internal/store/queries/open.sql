-- name: PutAside :many
SELECT piece_id::uuid AS piece_id, count(*) FILTER (WHERE refused) AS refused, count(*) FILTER (WHERE NOT refused) AS waiting
FROM (SELECT d.piece_id, true AS refused FROM dead d WHERE d.resolved_at IS NULL AND d.piece_id = ANY (@pieces::uuid[])
      UNION ALL
      SELECT w.piece_id, false FROM parked w WHERE w.piece_id = ANY (@pieces::uuid[])) AS aside
GROUP BY piece_id ORDER BY piece_id;

-- name: BeginClocks :exec
INSERT INTO clock (entry_id, piece_id, person_id, person_name, started_at)
SELECT entry_id, nullif(piece_id, '00000000-0000-0000-0000-000000000000'), person_id, person_name, started_at
FROM (SELECT unnest(@entry_id::uuid[]) AS entry_id, unnest(@piece_id::uuid[]) AS piece_id, unnest(@person_id::uuid[]) AS person_id,
             unnest(@person_name::text[]) AS person_name, unnest(@started_at::timestamptz[]) AS started_at) AS c;

-- name: EndClocks :exec
DELETE FROM clock WHERE entry_id = ANY (@entries::uuid[]);

-- Whose clocks began before an instant and still run.
-- name: RunningBefore :many
SELECT DISTINCT coalesce(p.name, c.person_name)::text AS name FROM clock c LEFT JOIN person p USING (person_id)
WHERE c.started_at < @before ORDER BY name;

-- How many people are on the clock at pieces; of one person several entries may run at once.
-- name: AtWork :many
SELECT piece_id::uuid AS piece_id, count(DISTINCT person_id) AS people FROM clock WHERE piece_id = ANY (@pieces::uuid[])
GROUP BY piece_id ORDER BY piece_id;

-- What is back without a bill may have gone out before.
-- name: SaveOutside :exec
INSERT INTO outside_work (outside_work_id, piece_id, kind, firm, quoted, unbilled) VALUES (@outside_work_id, @piece_id, @kind, @firm, sqlc.narg(quoted), @unbilled)
ON CONFLICT (outside_work_id) DO UPDATE SET quoted = excluded.quoted, unbilled = excluded.unbilled;

-- name: SettleOutside :exec
DELETE FROM outside_work WHERE outside_work_id = ANY (@works::uuid[]);

-- What of the pieces is out, or back without a bill.
-- name: OutsideOf :many
SELECT outside_work_id, piece_id, kind, firm, quoted, unbilled FROM outside_work WHERE piece_id = ANY (@pieces::uuid[]) ORDER BY piece_id, kind, firm, outside_work_id;

-- name: RaiseReview :exec
INSERT INTO review (review_id, person_id, person_name, since) VALUES (@review_id, @person_id, @person_name, @since);

-- name: SettleReviews :exec
DELETE FROM review WHERE review_id = ANY (@reviews::uuid[]);

-- Whose time since before an instant waits for the lead.
-- name: ReviewedBefore :many
SELECT DISTINCT coalesce(p.name, r.person_name)::text AS name FROM review r LEFT JOIN person p USING (person_id)
WHERE r.since < @before ORDER BY name;
