-- All that were ever made, also those that were taken back.
-- name: MonthCloses :many
SELECT c.month, c.id, c.since, c.ends_at, c.follows, c.settlement, c.with_indirect, c.applied, c.actual, c.indirect, c.actor, c.closed_at,
       r.id AS reopen_id, coalesce(r.reason, '')::text AS reopen_reason, coalesce(r.actor, '')::text AS reopen_actor, r.reopened_at
FROM month_close c LEFT JOIN month_reopen r ON r.close_id = c.id ORDER BY c.month, c.closed_at, c.id;

-- name: LastClosedMonth :many
SELECT c.month FROM month_close c WHERE NOT EXISTS (SELECT FROM month_reopen r WHERE r.close_id = c.id) ORDER BY c.month DESC LIMIT 1;

-- name: MonthShares :many
SELECT close_id, piece_id, again, amount FROM month_share ORDER BY close_id, piece_id;

-- name: MonthBalances :many
SELECT close_id, account, amount, late FROM month_balance ORDER BY close_id, account;

-- What a close has counted of days before one, by account.
-- name: DaysBefore :many
SELECT account, sum(amount)::bigint AS balance FROM month_day WHERE close_id = @close_id AND day < @before GROUP BY account ORDER BY account;

-- The same by month.
-- name: MonthsBefore :many
SELECT date_trunc('month', day)::date AS month, account, sum(amount)::bigint AS balance
FROM month_day WHERE close_id = @close_id AND day < @before GROUP BY 1, 2 ORDER BY 1, 2;

-- name: InsertMonthClose :exec
INSERT INTO month_close (month, id, since, ends_at, follows, settlement, with_indirect, applied, actual, indirect, actor, closed_at)
VALUES (@month, @id, @since, @ends_at, sqlc.narg(follows), @settlement, @with_indirect, @applied, @actual, @indirect, @actor, @closed_at);

-- name: InsertMonthShares :exec
INSERT INTO month_share (close_id, piece_id, again, amount)
SELECT @close_id, s.piece_id, s.again, s.amount
FROM (SELECT unnest(@piece_id::uuid[]) AS piece_id, unnest(@again::boolean[]) AS again, unnest(@amount::bigint[]) AS amount) AS s;

-- name: InsertMonthBalances :exec
INSERT INTO month_balance (close_id, account, amount, late)
SELECT @close_id, b.account, b.amount, b.late
FROM (SELECT unnest(@account::text[]) AS account, unnest(@amount::bigint[]) AS amount, unnest(@late::bigint[]) AS late) AS b;

-- name: InsertMonthDays :exec
INSERT INTO month_day (close_id, day, account, amount)
SELECT @close_id, d.day, d.account, d.amount
FROM (SELECT unnest(@day::date[]) AS day, unnest(@account::text[]) AS account, unnest(@amount::bigint[]) AS amount) AS d;

-- name: InsertMonthReopen :exec
INSERT INTO month_reopen (id, close_id, reason, actor, reopened_at) VALUES (@id, @close_id, @reason, @actor, @reopened_at);

-- What happened from an instant on, by account and between that and further ones: part 1 is before the second of
-- them, part 2 between it and the next, and so on. By its index in time; what is before is BalancesBefore.
-- name: BalancesByPart :many
SELECT width_bucket(occurred_at, @instants::timestamptz[])::integer AS part, account, sum(amount)::bigint AS balance
FROM posting WHERE occurred_at >= @since GROUP BY part, account ORDER BY part, account;

-- What a close has counted of a day.
-- name: CountedOfDay :many
SELECT account, amount FROM month_day WHERE close_id = @close_id AND day = @day ORDER BY account;

-- What the lines of a day come to, and those before an instant of it, by when they were recorded.
-- name: DaySoFar :many
SELECT recorded_at, account, sum(amount)::bigint AS in_all, coalesce(sum(amount) FILTER (WHERE occurred_at < @before), 0)::bigint AS so_far
FROM posting WHERE occurred_at >= @begins AND occurred_at < @ends GROUP BY recorded_at, account ORDER BY recorded_at, account;

-- When the earliest labour began that was recorded since an instant, or a pay rule that was begins to hold; else another instant.
-- name: LabourToldSince :one
SELECT coalesce(least((SELECT min(s.started_at) FROM stretch s WHERE s.recorded_at > @since),
                      (SELECT (min(r.week) - 1)::timestamp AT TIME ZONE 'UTC' FROM pay_rule r WHERE r.recorded_at > @since)), @otherwise::timestamptz)::timestamptz AS began;

-- Overhead that pieces carried between two instants.
-- name: CarriedBetween :many
SELECT piece_id::uuid AS piece_id, coalesce(-sum(amount) FILTER (WHERE NOT again), 0)::bigint AS first, coalesce(-sum(amount) FILTER (WHERE again), 0)::bigint AS later
FROM posting WHERE account = 'overhead_applied' AND piece_id IS NOT NULL AND occurred_at >= @since AND occurred_at < @before
GROUP BY piece_id ORDER BY piece_id;
