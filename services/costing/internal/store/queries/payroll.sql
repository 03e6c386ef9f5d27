-- The labour of everybody between two instants, by its end.
-- name: StretchesBetween :many
SELECT s.sign, s.entry_id, s.piece_id, s.person_id, coalesce(p.name, s.person_name)::text AS person_name, s.stage_id, s.stage_kind, s.rework, s.indirect,
       s.started_at, s.ended_at, s.whole_from, s.paused
FROM stretch s LEFT JOIN person p USING (person_id)
WHERE s.ended_at > @after AND s.started_at < @before ORDER BY s.ended_at, s.recorded_at, s.event_id, s.sign;

-- name: PayLocks :many
SELECT week, locked_at, actor FROM payroll_lock ORDER BY week;

-- name: LockedWeeks :many
SELECT week FROM payroll_lock WHERE week >= @since ORDER BY week;

-- name: PayLines :many
SELECT week, person_id, person_name, labour_ms, rework_ms, indirect_ms, late_ms, pay, breaks_ms, rounding_ms, overtime_ms, break_pay, rounding_pay, premium,
       late_pay, burden, regular_pay, regular_ms
FROM payroll_line ORDER BY week, person_name, person_id;

-- name: InsertPayLock :exec
INSERT INTO payroll_lock (week, locked_at, actor) VALUES (@week, @locked_at, @actor);

-- name: InsertPayLine :exec
INSERT INTO payroll_line (week, person_id, person_name, labour_ms, rework_ms, indirect_ms, late_ms, pay, breaks_ms, rounding_ms, overtime_ms,
                          break_pay, rounding_pay, premium, late_pay, burden, regular_pay, regular_ms)
VALUES (@week, @person_id, @person_name, @labour_ms, @rework_ms, @indirect_ms, @late_ms, @pay, @breaks_ms, @rounding_ms, @overtime_ms,
        @break_pay, @rounding_pay, @premium, @late_pay, @burden, @regular_pay, @regular_ms);

-- Sets the next seal, on a week that was just locked, or a close or a reopening that was just made.
-- name: Seal :exec
WITH record AS (SELECT r.kind, r.day, r.id, r.actor, r.lines, r.digest FROM sealed r WHERE r.kind = @kind::text AND r.day = @day AND r.id = @id),
head AS (
    UPDATE seal_head AS h SET number = h.number + 1, digest = seal_digest(h.number + 1, r.kind, r.day, r.id, r.actor, r.lines, r.digest, h.digest)
    FROM record r RETURNING h.number, h.digest
)
INSERT INTO seal (number, kind, day, id, actor, lines, content, digest)
SELECT h.number, r.kind, r.day, r.id, r.actor, r.lines, r.digest, h.digest FROM record r, head h;

-- What a producer has recorded and the books have not taken in, by its heads.
-- name: BehindHeads :one
SELECT (SELECT count(*) FROM (SELECT unnest(@aggregates::uuid[]) AS aggregate_id, unnest(@versions::bigint[]) AS version) AS h
        LEFT JOIN applied a ON a.producer = @producer AND a.aggregate_id = h.aggregate_id
        WHERE h.version > coalesce(a.version, 0)) AS behind,
       (SELECT count(*) FROM parked w WHERE w.producer = @producer) AS waiting,
       (SELECT count(*) FROM dead d WHERE d.producer = @producer AND d.resolved_at IS NULL) AS refused,
       EXISTS (SELECT FROM source s WHERE s.producer = @producer AND (s.epoch <> @epoch OR s.restoring))::boolean AS restored;
