-- name: MonthCloses :many
SELECT month, id, ends_at, settlement, with_indirect, applied, actual, indirect, late, actor, closed_at FROM month_close ORDER BY month;

-- name: MonthShares :many
SELECT month, piece_id, again, amount FROM month_share ORDER BY month, piece_id;

-- name: MonthBalances :many
SELECT month, account, amount FROM month_balance ORDER BY month, account;

-- name: InsertMonthClose :exec
INSERT INTO month_close (month, id, ends_at, settlement, with_indirect, applied, actual, indirect, late, actor, closed_at)
VALUES (@month, @id, @ends_at, @settlement, @with_indirect, @applied, @actual, @indirect, @late, @actor, @closed_at);

-- name: InsertMonthShares :exec
INSERT INTO month_share (month, piece_id, again, amount)
SELECT @month, s.piece_id, s.again, s.amount
FROM (SELECT unnest(@piece_id::uuid[]) AS piece_id, unnest(@again::boolean[]) AS again, unnest(@amount::bigint[]) AS amount) AS s;

-- name: InsertMonthBalances :exec
INSERT INTO month_balance (month, account, amount)
SELECT @month, b.account, b.amount FROM (SELECT unnest(@account::text[]) AS account, unnest(@amount::bigint[]) AS amount) AS b;

-- What happened between instants, by account: part 0 is before the first of them, part 1 between
-- it and the next, and so on.
-- name: BalancesByPart :many
SELECT width_bucket(occurred_at, @instants::timestamptz[])::integer AS part, account, sum(amount)::bigint AS balance
FROM posting GROUP BY part, account ORDER BY part, account;

-- name: BalancesBetween :many
SELECT account, sum(amount)::bigint AS balance FROM posting WHERE occurred_at >= @since AND occurred_at < @before GROUP BY account ORDER BY account;

-- Overhead that pieces carried between two instants.
-- name: CarriedBetween :many
SELECT piece_id::uuid AS piece_id, coalesce(-sum(amount) FILTER (WHERE NOT again), 0)::bigint AS first, coalesce(-sum(amount) FILTER (WHERE again), 0)::bigint AS later
FROM posting WHERE account = 'overhead_applied' AND piece_id IS NOT NULL AND occurred_at >= @since AND occurred_at < @before
GROUP BY piece_id ORDER BY piece_id;
