-- name: ListRates :many
SELECT id, person_id, effective_day, effective_at, per_hour, actor, recorded_at
FROM pay_rate WHERE (sqlc.narg(person)::uuid IS NULL OR person_id = sqlc.narg(person)) AND id > @after
ORDER BY id LIMIT @page_limit;

-- The rate that a person has from a day on, as it was last recorded.
-- name: RateFrom :many
SELECT id, person_id, effective_day, effective_at, per_hour, actor, recorded_at
FROM pay_rate WHERE person_id = @person AND effective_day = @day ORDER BY recorded_at DESC, id DESC LIMIT 1;

-- name: InsertRate :exec
INSERT INTO pay_rate (id, person_id, effective_day, effective_at, per_hour, actor, recorded_at)
VALUES (@id, @person_id, @effective_day, @effective_at, @per_hour, @actor, @recorded_at);

-- name: LastRecorded :one
SELECT greatest((SELECT max(r.recorded_at) FROM pay_rate r), (SELECT max(b.recorded_at) FROM burden b), (SELECT max(w.recorded_at) FROM pay_rule w), (SELECT max(o.recorded_at) FROM overhead_rate o),
                (SELECT max(s.recorded_at) FROM stretch s WHERE sqlc.narg(person)::uuid IS NULL OR s.person_id = sqlc.narg(person)), '2000-01-01')::timestamptz AS last;
