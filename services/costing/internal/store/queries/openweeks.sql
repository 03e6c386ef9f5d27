-- Of workweeks that were settled, those in which entries contradict each other.
-- name: SaveTangledWeeks :exec
WITH settled AS (
    SELECT unnest(@person_id::uuid[]) AS person_id, unnest(@week::date[]) AS week, nullif(unnest(@since::timestamptz[]), '0001-01-01 00:00:00+00') AS since
), untangled AS (
    DELETE FROM tangled_week t USING settled s WHERE t.person_id = s.person_id AND t.week = s.week AND s.since IS NULL
)
INSERT INTO tangled_week (person_id, week, since) SELECT s.person_id, s.week, s.since FROM settled s WHERE s.since IS NOT NULL
ON CONFLICT (person_id, week) DO UPDATE SET since = excluded.since;

-- Of whom not all time is known or certain: weeks that contradict themselves, and time of before a week that runs on or waits for the lead.
-- name: UncertainTime :many
SELECT t.tangled, t.person_id, coalesce(p.name, t.person_name, '')::text AS person_name, t.since, t.until FROM (
    SELECT true AS tangled, w.person_id, (SELECT s.person_name FROM stretch s WHERE s.person_id = w.person_id ORDER BY s.ended_at DESC LIMIT 1) AS person_name, w.since, w.since AS until
    FROM tangled_week w
    UNION ALL SELECT false, r.person_id, r.person_name, r.since, r.since FROM review r WHERE r.since < @before
    UNION ALL SELECT false, c.person_id, c.person_name, c.started_at, @before FROM clock c WHERE c.started_at < @before) AS t
LEFT JOIN person p USING (person_id) ORDER BY t.since, t.person_id, t.tangled;

-- Events of a producer that were refused or wait for an earlier one, as they were sent.
-- name: PutAsideOf :many
SELECT d.body FROM dead d WHERE d.producer = @producer AND d.resolved_at IS NULL
UNION ALL SELECT w.body FROM parked w WHERE w.producer = @producer LIMIT @most;

-- Which of the pieces have hours in which weeks of whom, and which of them in one week of anybody.
-- name: HoursWithin :many
SELECT DISTINCT h.piece_id::uuid AS piece_id, h.place::integer AS place FROM (
    SELECT s.piece_id, w.place FROM stretch s
    JOIN (SELECT unnest(@places::integer[]) AS place, unnest(@people::uuid[]) AS person_id, unnest(@begins::timestamptz[]) AS begins, unnest(@ends::timestamptz[]) AS ends) AS w
      ON w.person_id = s.person_id AND s.ended_at > w.begins AND s.started_at < w.ends
    WHERE s.piece_id = ANY (@pieces::uuid[])
    GROUP BY s.piece_id, w.place, s.entry_id, s.stage_id, s.rework, s.started_at, s.ended_at HAVING sum(s.sign) <> 0
    UNION ALL
    SELECT s.piece_id, @everybody::integer FROM stretch s WHERE s.piece_id = ANY (@pieces) AND s.ended_at > @from_time AND s.started_at < @to_time
    GROUP BY s.piece_id, s.person_id, s.entry_id, s.stage_id, s.rework, s.started_at, s.ended_at HAVING sum(s.sign) <> 0) AS h
ORDER BY piece_id, place;

-- Which pieces may have hours in weeks, of one person or of everybody; stretches of more than a month are not looked for. Who has no pay
-- rate is left out: their pieces are found by that.
-- name: PiecesWithin :many
SELECT DISTINCT s.piece_id::uuid AS piece_id
FROM (SELECT unnest(@people::uuid[]) AS person_id, unnest(@begins::timestamptz[]) AS begins, unnest(@ends::timestamptz[]) AS ends) AS w
JOIN (SELECT DISTINCT r.person_id FROM pay_rate r) AS p ON w.person_id IN (p.person_id, '00000000-0000-0000-0000-000000000000')
CROSS JOIN LATERAL (SELECT t.piece_id FROM stretch t WHERE t.person_id = p.person_id AND t.ended_at > w.begins AND t.ended_at < w.ends + interval '31 days' AND t.started_at < w.ends
                    OFFSET 0) AS s
WHERE s.piece_id IS NOT NULL ORDER BY piece_id;
