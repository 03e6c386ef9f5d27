-- The stretches that a term from an instant on can change, of one person or of all.
-- name: StretchesAfter :many
SELECT event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework,
       started_at, ended_at, occurred_at, recorded_at, indirect, whole_from, paused
FROM stretch WHERE (sqlc.narg(person)::uuid IS NULL OR person_id = sqlc.narg(person)) AND ended_at > @after ORDER BY event_id, sign;

-- name: InsertStretches :exec
INSERT INTO stretch (event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework,
                     started_at, ended_at, occurred_at, recorded_at, indirect, whole_from, paused)
SELECT event_id, sign, entry_id, nullif(piece_id, '00000000-0000-0000-0000-000000000000'), person_id, person_name,
       nullif(stage_id, '00000000-0000-0000-0000-000000000000'), stage_kind, stage_key, part_label, rework,
       started_at, ended_at, occurred_at, recorded_at, indirect, nullif(whole_from, started_at), paused
FROM (SELECT unnest(@event_id::uuid[]) AS event_id, unnest(@sign::smallint[]) AS sign, unnest(@entry_id::uuid[]) AS entry_id,
             unnest(@piece_id::uuid[]) AS piece_id, unnest(@person_id::uuid[]) AS person_id, unnest(@person_name::text[]) AS person_name,
             unnest(@stage_id::uuid[]) AS stage_id, unnest(@stage_kind::text[]) AS stage_kind, unnest(@stage_key::text[]) AS stage_key,
             unnest(@part_label::text[]) AS part_label, unnest(@rework::boolean[]) AS rework, unnest(@started_at::timestamptz[]) AS started_at,
             unnest(@ended_at::timestamptz[]) AS ended_at, unnest(@occurred_at::timestamptz[]) AS occurred_at, unnest(@recorded_at::timestamptz[]) AS recorded_at,
             unnest(@indirect::text[]) AS indirect, unnest(@whole_from::timestamptz[]) AS whole_from,
             unnest(@paused::boolean[]) AS paused) AS s;

-- Labour by person, stage and whether it is rework: time from the stretches, cost from the
-- ledger. A person whom workflow has not told of yet is called what they were when they
-- last worked.
-- name: WorkOf :many
SELECT t.piece_id::uuid AS piece_id, t.person_id, n.name AS person_name, t.stage_id::uuid AS stage_id, t.stage_kind, t.stage_key, t.part_label, t.rework, t.ms,
       coalesce(c.amount, 0)::bigint AS amount
FROM (SELECT piece_id, person_id, stage_id, stage_kind, rework, max(stage_key)::text AS stage_key, max(part_label)::text AS part_label,
             sum(sign * trunc(extract(epoch FROM ended_at - started_at) * 1000))::bigint AS ms
      FROM stretch WHERE piece_id = ANY (@pieces::uuid[]) GROUP BY piece_id, person_id, stage_id, stage_kind, rework) AS t
LEFT JOIN person p USING (person_id)
CROSS JOIN LATERAL (SELECT coalesce(p.name, (SELECT person_name FROM stretch WHERE person_id = t.person_id
                                             ORDER BY ended_at DESC, recorded_at DESC, event_id DESC, sign DESC LIMIT 1))::text AS name) AS n
LEFT JOIN (SELECT piece_id, person_id, stage_id, again AS rework, -sum(amount)::bigint AS amount
           FROM posting WHERE piece_id = ANY (@pieces::uuid[]) AND account = 'wages_payable' AND group_kind = '' AND person_id IS NOT NULL
           GROUP BY piece_id, person_id, stage_id, again) AS c
    USING (piece_id, person_id, stage_id, rework)
WHERE t.ms <> 0 OR coalesce(c.amount, 0) <> 0
ORDER BY t.piece_id, n.name, t.person_id, t.stage_kind, t.stage_key, t.part_label, t.stage_id, t.rework;

-- Work that has no cost yet, for its person had no rate on the day; not what was taken
-- away again.
-- name: Unrated :many
SELECT s.piece_id::uuid AS piece_id, n.name AS person_name, min(s.started_at)::timestamptz AS since
FROM (SELECT piece_id, person_id, entry_id, started_at FROM stretch WHERE piece_id = ANY (@pieces::uuid[])
      GROUP BY piece_id, person_id, entry_id, started_at HAVING sum(sign) > 0) AS s
LEFT JOIN person p USING (person_id)
CROSS JOIN LATERAL (SELECT coalesce(p.name, (SELECT person_name FROM stretch WHERE person_id = s.person_id
                                             ORDER BY ended_at DESC, recorded_at DESC, event_id DESC, sign DESC LIMIT 1))::text AS name) AS n
WHERE NOT EXISTS (SELECT FROM pay_rate r WHERE r.person_id = s.person_id AND r.effective_at <= s.started_at)
GROUP BY s.piece_id, s.person_id, n.name
ORDER BY s.piece_id, n.name, s.person_id;
