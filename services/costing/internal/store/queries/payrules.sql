-- All that prices the labour of some people, and whether the shop ever had a pay rule.
-- name: TermsOf :many
SELECT 'rate'::text AS kind, r.id, r.person_id, r.effective_day, r.effective_at, r.per_hour AS value, r.actor, r.recorded_at,
       EXISTS (SELECT FROM pay_rule)::boolean AS ruled, ''::text AS department, '{}'::text[] AS stage_kinds, ''::text AS basis, false AS ends
FROM pay_rate r WHERE r.person_id = ANY (@people::uuid[])
UNION ALL
SELECT 'burden', b.id, coalesce(b.person_id, '00000000-0000-0000-0000-000000000000'), b.effective_day, b.effective_at, b.share, b.actor, b.recorded_at,
       EXISTS (SELECT FROM pay_rule)::boolean, '', '{}', '', b.ends
FROM burden b WHERE b.person_id IS NULL OR b.person_id = ANY (@people::uuid[])
UNION ALL
SELECT 'overhead', o.id, '00000000-0000-0000-0000-000000000000', o.effective_day, o.effective_at, o.per_hour, o.actor, o.recorded_at,
       EXISTS (SELECT FROM pay_rule)::boolean, o.department, o.stage_kinds, o.basis, false
FROM overhead_rate o
ORDER BY recorded_at, id;

-- name: PayRules :many
SELECT id, week, weekly_after_ms, daily_after_ms, overtime_percent, paid_break_ms, round_to_ms, to_overhead, actor, recorded_at
FROM pay_rule ORDER BY week, recorded_at, id;

-- name: ListPayRules :many
SELECT id, week, weekly_after_ms, daily_after_ms, overtime_percent, paid_break_ms, round_to_ms, to_overhead, actor, recorded_at
FROM pay_rule WHERE id > @after ORDER BY id LIMIT @page_limit;

-- name: InsertPayRule :exec
INSERT INTO pay_rule (id, week, weekly_after_ms, daily_after_ms, overtime_percent, paid_break_ms, round_to_ms, to_overhead, actor, recorded_at)
VALUES (@id, @week, @weekly_after_ms, @daily_after_ms, @overtime_percent, @paid_break_ms, @round_to_ms, @to_overhead, @actor, @recorded_at);

-- name: ListBurdens :many
SELECT id, person_id, effective_day, effective_at, share, ends, actor, recorded_at
FROM burden WHERE (sqlc.narg(person)::uuid IS NULL OR person_id = sqlc.narg(person)) AND id > @after
ORDER BY id LIMIT @page_limit;

-- The burden that somebody, or everybody, has from a day on, as it was last recorded.
-- name: BurdenFrom :many
SELECT id, person_id, effective_day, effective_at, share, ends, actor, recorded_at
FROM burden WHERE person_id IS NOT DISTINCT FROM sqlc.narg(person)::uuid AND effective_day = @day
ORDER BY recorded_at DESC, id DESC LIMIT 1;

-- name: InsertBurden :exec
INSERT INTO burden (id, person_id, effective_day, effective_at, share, ends, actor, recorded_at)
VALUES (@id, @person_id, @effective_day, @effective_at, @share, @ends, @actor, @recorded_at);

-- The labour of people, of each from an instant to another.
-- name: LabourWithin :many
SELECT s.event_id, s.sign, s.entry_id, s.piece_id, s.person_id, s.person_name, s.stage_id, s.stage_kind, s.stage_key, s.part_label, s.rework,
       s.started_at, s.ended_at, s.occurred_at, s.recorded_at, s.indirect, s.whole_from, s.paused
FROM (SELECT unnest(@people::uuid[]) AS person_id, unnest(@begins::timestamptz[]) AS begins, unnest(@ends::timestamptz[]) AS ends) AS w
JOIN stretch s ON s.person_id = w.person_id AND s.ended_at > w.begins AND s.started_at < w.ends
ORDER BY s.event_id, s.sign;
