-- All that is read is of one moment, or a stage would seem to stand still for what it was just given.
-- name: OneMoment :exec
SET TRANSACTION ISOLATION LEVEL REPEATABLE READ;

-- One copy at a time keeps them.
-- name: TryAlertLock :one
SELECT pg_try_advisory_xact_lock(@lock_id::bigint);

-- Of some kinds, or of all others.
-- name: OpenAlerts :many
SELECT id, kind, key, product_id, text, due FROM alert
WHERE closed_at IS NULL AND (kind = ANY (@kinds::text[])) <> @others::boolean AND (sqlc.narg(products)::uuid[] IS NULL OR product_id = ANY (sqlc.narg(products)::uuid[]))
ORDER BY kind, key;

-- name: TakeAlertPositions :one
UPDATE alert_feed SET position = position + @n::bigint RETURNING position;

-- name: InsertAlert :exec
INSERT INTO alert (id, kind, key, product_id, text, due, raised_at, updated_at, position)
VALUES (@id, @kind, @key, @product_id, @text, @due, @at, @at, @position);

-- name: UpdateAlert :exec
UPDATE alert SET text = @text, due = @due, updated_at = @at, position = @position WHERE id = @id;

-- name: CloseAlert :exec
UPDATE alert SET closed_at = @at, updated_at = @at, position = @position WHERE id = @id;

-- name: InsertAlertChange :exec
INSERT INTO alert_change (position, alert_id, change, text, due, at) VALUES (@position, @alert_id, @change, @text, @due, @at);

-- Newest first.
-- name: ListAlerts :many
SELECT sqlc.embed(alert), coalesce(product.display_name, '')::text AS product_name
FROM alert LEFT JOIN product ON product.id = alert.product_id
WHERE (alert.raised_at, alert.id) < (@before_at::timestamptz, @before_id::uuid) AND alert.raised_at >= @since::timestamptz
    AND (@closed_too::boolean OR alert.closed_at IS NULL)
    AND (sqlc.narg(product_id)::uuid IS NULL OR alert.product_id = sqlc.narg(product_id))
ORDER BY alert.raised_at DESC, alert.id DESC LIMIT @page_limit;

-- name: AlertPosition :one
SELECT position FROM alert_feed;

-- name: AlertOfPosition :one
SELECT alert_id FROM alert_change WHERE position = @position;

-- name: AlertChangesAfter :many
SELECT alert_change.position, alert_change.change, alert_change.text, alert_change.due, alert_change.at, sqlc.embed(alert), coalesce(product.display_name, '')::text AS product_name
FROM alert_change JOIN alert ON alert.id = alert_change.alert_id LEFT JOIN product ON product.id = alert.product_id
WHERE alert_change.position > @position ORDER BY alert_change.position LIMIT @page_limit;
