-- name: InsertPostings :exec
INSERT INTO posting (tx_id, line, event_id, group_kind, group_id, account, bucket, piece_id, person_id, stage_id, stage_kind, again, amount, occurred_at, recorded_at)
SELECT tx_id, line, event_id, group_kind, nullif(group_id, '00000000-0000-0000-0000-000000000000'), account, bucket, nullif(piece_id, '00000000-0000-0000-0000-000000000000'),
       nullif(person_id, '00000000-0000-0000-0000-000000000000'), nullif(stage_id, '00000000-0000-0000-0000-000000000000'),
       stage_kind, again, amount, occurred_at, recorded_at
FROM (SELECT unnest(@tx_id::uuid[]) AS tx_id, unnest(@line::smallint[]) AS line, unnest(@event_id::uuid[]) AS event_id,
             unnest(@group_kind::text[]) AS group_kind, unnest(@group_id::uuid[]) AS group_id,
             unnest(@account::text[]) AS account, unnest(@bucket::text[]) AS bucket, unnest(@piece_id::uuid[]) AS piece_id,
             unnest(@person_id::uuid[]) AS person_id, unnest(@stage_id::uuid[]) AS stage_id, unnest(@stage_kind::text[]) AS stage_kind,
             unnest(@again::boolean[]) AS again, unnest(@amount::bigint[]) AS amount,
             unnest(@occurred_at::timestamptz[]) AS occurred_at, unnest(@recorded_at::timestamptz[]) AS recorded_at) AS p;

-- name: Balances :many
SELECT account, sum(amount)::bigint AS balance FROM posting GROUP BY account ORDER BY account;

-- What groups come to now.
-- name: PostedOf :many
SELECT group_id::uuid AS group_id, account, bucket, piece_id, person_id, stage_id, stage_kind, again, occurred_at, sum(amount)::bigint AS amount FROM posting
WHERE group_kind = @kind AND group_kind <> '' AND group_id = ANY (@ids::uuid[])
GROUP BY group_id, account, bucket, piece_id, person_id, stage_id, stage_kind, again, occurred_at HAVING sum(amount) <> 0
ORDER BY group_id, occurred_at, account, bucket, piece_id, person_id, stage_id, stage_kind;

-- What each account comes to by what happened before an instant.
-- name: BalancesBefore :many
SELECT account, sum(amount)::bigint AS balance FROM posting WHERE occurred_at < @before GROUP BY account ORDER BY account;

-- name: MadeBy :one
SELECT coalesce((SELECT rules FROM made_by), '')::text AS rules, EXISTS (SELECT FROM applied)::boolean AS some;

-- name: SetMadeBy :exec
INSERT INTO made_by (rules) VALUES (@rules) ON CONFLICT (only_one) DO UPDATE SET rules = excluded.rules;

-- The accounts on which closed months have counted something.
-- name: CountedAccounts :many
SELECT DISTINCT account FROM month_balance WHERE amount <> 0 ORDER BY account;
