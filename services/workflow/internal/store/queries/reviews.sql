-- name: InsertReview :exec
INSERT INTO clock_review (id, kind, person_id, entry_ids, sent, reason, shift_end, raised_at)
VALUES (@id, @kind, @person_id, @entry_ids, @sent, @reason, @shift_end, @raised_at);

-- name: LockReview :exec
SELECT FROM clock_review WHERE id = @id FOR UPDATE;

-- name: GetReview :one
SELECT * FROM review r WHERE r.id = @id;

-- name: ListReviews :many
SELECT * FROM review r
WHERE (@include_settled::boolean OR r.settled_at IS NULL)
  AND (sqlc.narg(person)::uuid IS NULL OR r.person_id = sqlc.narg(person))
  AND (r.raised_at, r.id) > (@after_raised::timestamptz, @after_id::uuid)
ORDER BY r.raised_at, r.id LIMIT @page_limit;

-- name: SettleReview :exec
UPDATE clock_review SET settled_at = @settled_at, settlement = @settlement, settled_by = @settled_by, settle_reason = @settle_reason WHERE id = @id;

-- Reviews of a person that wait because of an overlap, the oldest first.
-- name: OpenOverlaps :many
SELECT * FROM review r
WHERE r.person_id = @person AND r.kind = 'overlap' AND r.settled_at IS NULL ORDER BY r.raised_at, r.id;

-- Clocks that run and are not under review, nor were found to run rightly since an instant; the
-- longest first.
-- name: RunningUntold :many
SELECT c.id, c.person_id, c.started_at FROM clock_entry c
WHERE c.ended_at IS NULL AND NOT c.superseded AND NOT c.held
  AND NOT EXISTS (SELECT FROM clock_review r WHERE r.kind = 'forgotten' AND r.entry_ids[1] = c.id
                  AND (r.settled_at IS NULL OR r.settled_at > @rightly_since::timestamptz))
ORDER BY c.started_at;

-- What a person said to have read before they did what a device sent, beside what they said before.
-- name: AddRead :exec
INSERT INTO acknowledgement (stage_id, pass, person_id, cautions, said_at) VALUES (@stage_id, @pass, @person_id, @cautions, @said_at)
ON CONFLICT (stage_id, pass, person_id) DO UPDATE SET cautions = ARRAY (SELECT DISTINCT unnest(acknowledgement.cautions || excluded.cautions));
