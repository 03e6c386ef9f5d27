-- name: RatesOf :many
SELECT id, person_id, effective_day, effective_at, per_hour, actor, recorded_at
FROM pay_rate WHERE person_id = ANY (@people::uuid[]) ORDER BY person_id, recorded_at, id;

-- name: ListRates :many
SELECT id, person_id, effective_day, effective_at, per_hour, actor, recorded_at
FROM pay_rate WHERE (sqlc.narg(person)::uuid IS NULL OR person_id = sqlc.narg(person)) AND id > @after
ORDER BY id LIMIT @page_limit;

-- name: InsertRate :exec
INSERT INTO pay_rate (id, person_id, effective_day, effective_at, per_hour, actor, recorded_at)
VALUES (@id, @person_id, @effective_day, @effective_at, @per_hour, @actor, @recorded_at);

-- name: LastRecorded :one
SELECT greatest((SELECT max(r.recorded_at) FROM pay_rate r WHERE r.person_id = @person),
                (SELECT max(s.recorded_at) FROM stretch s WHERE s.person_id = @person), '2000-01-01')::timestamptz AS last;

-- The stretches that a rate from an instant on can change.
-- name: StretchesAfter :many
SELECT event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework,
       started_at, ended_at, occurred_at, recorded_at, indirect, whole_from
FROM stretch WHERE person_id = @person AND ended_at > @after ORDER BY event_id, sign;

-- name: MarksOf :many
SELECT event_id, piece_id, kind, occurred_at, recorded_at FROM mark WHERE piece_id = ANY (@pieces::uuid[]) ORDER BY event_id;

-- What has gone into work in process of the pieces, before any of it moved on.
-- name: CostsOf :many
SELECT tx_id, piece_id::uuid AS piece_id, occurred_at, recorded_at, amount FROM posting
WHERE piece_id = ANY (@pieces::uuid[]) AND account = 'work_in_process' AND bucket <> '' AND amount <> 0 ORDER BY tx_id;

-- name: InsertPostings :exec
INSERT INTO posting (tx_id, line, event_id, account, bucket, piece_id, person_id, stage_id, stage_kind, amount, occurred_at, recorded_at)
SELECT tx_id, line, event_id, account, bucket, nullif(piece_id, '00000000-0000-0000-0000-000000000000'),
       nullif(person_id, '00000000-0000-0000-0000-000000000000'), nullif(stage_id, '00000000-0000-0000-0000-000000000000'),
       stage_kind, amount, occurred_at, recorded_at
FROM (SELECT unnest(@tx_id::uuid[]) AS tx_id, unnest(@line::smallint[]) AS line, unnest(@event_id::uuid[]) AS event_id,
             unnest(@account::text[]) AS account, unnest(@bucket::text[]) AS bucket, unnest(@piece_id::uuid[]) AS piece_id,
             unnest(@person_id::uuid[]) AS person_id, unnest(@stage_id::uuid[]) AS stage_id, unnest(@stage_kind::text[]) AS stage_kind,
             unnest(@amount::bigint[]) AS amount,
             unnest(@occurred_at::timestamptz[]) AS occurred_at, unnest(@recorded_at::timestamptz[]) AS recorded_at) AS p;

-- name: InsertStretches :exec
INSERT INTO stretch (event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework,
                     started_at, ended_at, occurred_at, recorded_at, indirect, whole_from)
SELECT event_id, sign, entry_id, nullif(piece_id, '00000000-0000-0000-0000-000000000000'), person_id, person_name,
       nullif(stage_id, '00000000-0000-0000-0000-000000000000'), stage_kind, stage_key, part_label, rework,
       started_at, ended_at, occurred_at, recorded_at, indirect, nullif(whole_from, started_at)
FROM (SELECT unnest(@event_id::uuid[]) AS event_id, unnest(@sign::smallint[]) AS sign, unnest(@entry_id::uuid[]) AS entry_id,
             unnest(@piece_id::uuid[]) AS piece_id, unnest(@person_id::uuid[]) AS person_id, unnest(@person_name::text[]) AS person_name,
             unnest(@stage_id::uuid[]) AS stage_id, unnest(@stage_kind::text[]) AS stage_kind, unnest(@stage_key::text[]) AS stage_key,
             unnest(@part_label::text[]) AS part_label, unnest(@rework::boolean[]) AS rework, unnest(@started_at::timestamptz[]) AS started_at,
             unnest(@ended_at::timestamptz[]) AS ended_at, unnest(@occurred_at::timestamptz[]) AS occurred_at, unnest(@recorded_at::timestamptz[]) AS recorded_at,
             unnest(@indirect::text[]) AS indirect, unnest(@whole_from::timestamptz[]) AS whole_from) AS s;

-- name: InsertMark :exec
INSERT INTO mark (event_id, piece_id, kind, occurred_at, recorded_at) VALUES (@event_id, @piece_id, @kind, @occurred_at, @recorded_at);

-- What people are called; an older word than the one known changes nothing.
-- name: NamePeople :exec
INSERT INTO person AS p (person_id, name, version)
SELECT person_id, name, version
FROM (SELECT unnest(@person_id::uuid[]) AS person_id, unnest(@name::text[]) AS name, unnest(@version::bigint[]) AS version) AS n
ON CONFLICT (person_id) DO UPDATE SET name = excluded.name, version = excluded.version WHERE excluded.version > p.version;

-- Adds to the sums of pieces; a tag of 0 and an empty text leave what is known alone.
-- name: AddToPieces :exec
INSERT INTO piece AS p (piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
                        labour_ms, rework_ms, running, outside, revision, updated_at)
SELECT c.piece_id, c.tag, c.title, c.commission, c.sales_state, c.scrapped,
       c.acquisition, c.labour, c.material, c.rework, c.fees, c.revenue, c.tax, c.labour_ms, c.rework_ms, c.running, c.outside, 1, @now::timestamptz
FROM (SELECT unnest(@piece_id::uuid[]) AS piece_id, unnest(@tag::integer[]) AS tag, unnest(@title::text[]) AS title,
             unnest(@commission::boolean[]) AS commission, unnest(@sales_state::text[]) AS sales_state, unnest(@scrapped::boolean[]) AS scrapped,
             unnest(@acquisition::bigint[]) AS acquisition, unnest(@labour::bigint[]) AS labour, unnest(@material::bigint[]) AS material,
             unnest(@rework::bigint[]) AS rework, unnest(@fees::bigint[]) AS fees, unnest(@revenue::bigint[]) AS revenue,
             unnest(@tax::bigint[]) AS tax, unnest(@labour_ms::bigint[]) AS labour_ms, unnest(@rework_ms::bigint[]) AS rework_ms,
             unnest(@running::integer[]) AS running, unnest(@outside::bigint[]) AS outside) AS c
ON CONFLICT (piece_id) DO UPDATE SET
    tag = CASE excluded.tag WHEN 0 THEN p.tag ELSE excluded.tag END,
    title = CASE excluded.tag WHEN 0 THEN p.title ELSE excluded.title END,
    commission = CASE excluded.tag WHEN 0 THEN p.commission ELSE excluded.commission END,
    sales_state = CASE excluded.sales_state WHEN '' THEN p.sales_state ELSE excluded.sales_state END,
    scrapped = p.scrapped OR excluded.scrapped,
    acquisition = p.acquisition + excluded.acquisition, labour = p.labour + excluded.labour, material = p.material + excluded.material,
    rework = p.rework + excluded.rework, fees = p.fees + excluded.fees, revenue = p.revenue + excluded.revenue, tax = p.tax + excluded.tax,
    labour_ms = p.labour_ms + excluded.labour_ms, rework_ms = p.rework_ms + excluded.rework_ms,
    running = p.running + excluded.running, outside = p.outside + excluded.outside,
    revision = p.revision + 1, updated_at = excluded.updated_at;

-- name: GetPiece :one
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside
FROM piece WHERE piece_id = @piece_id;

-- All that a piece's sheet is made of, in small: while this stays the same, so does the
-- sheet. Rates are only added and a person's version rises with the name.
-- name: GetMakings :one
SELECT coalesce((SELECT p.revision FROM piece p WHERE p.piece_id = @piece), 0)::bigint AS revision,
       (SELECT count(*) FROM dead d WHERE d.resolved_at IS NULL AND d.piece_id = @piece::uuid) AS refused,
       (SELECT count(*) FROM parked w WHERE w.piece_id = @piece::uuid) AS waiting,
       (SELECT count(*) FROM pay_rate) AS rates,
       (SELECT coalesce(sum(n.version), 0)::bigint FROM person n) AS names;

-- name: ListPieces :many
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside
FROM piece WHERE (tag, piece_id) > (@after_tag::integer, @after_id::uuid) ORDER BY tag, piece_id LIMIT @page_limit;

-- Labour by person, stage and whether it is rework: time from the stretches, cost from the
-- ledger. A person whom workflow has not told of yet is called what they were when they
-- last worked.
-- name: WorkOf :many
SELECT t.piece_id::uuid AS piece_id, t.person_id, n.name AS person_name, t.stage_id::uuid AS stage_id, t.stage_kind, t.stage_key, t.part_label, t.rework, t.ms,
       coalesce(c.amount, 0)::bigint AS amount
FROM (SELECT piece_id, person_id, stage_id, stage_kind, rework, max(stage_key)::text AS stage_key, max(part_label)::text AS part_label,
             sum(sign * round(extract(epoch FROM ended_at - started_at) * 1000))::bigint AS ms
      FROM stretch WHERE piece_id = ANY (@pieces::uuid[]) GROUP BY piece_id, person_id, stage_id, stage_kind, rework) AS t
LEFT JOIN person p USING (person_id)
CROSS JOIN LATERAL (SELECT coalesce(p.name, (SELECT person_name FROM stretch WHERE person_id = t.person_id
                                             ORDER BY ended_at DESC, recorded_at DESC, event_id DESC, sign DESC LIMIT 1))::text AS name) AS n
LEFT JOIN (SELECT piece_id, person_id, stage_id, bucket = 'rework' AS rework, sum(amount)::bigint AS amount
           FROM posting WHERE piece_id = ANY (@pieces::uuid[]) AND account = 'work_in_process' AND bucket <> '' AND person_id IS NOT NULL
           GROUP BY piece_id, person_id, stage_id, bucket = 'rework') AS c
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

-- name: PutAside :many
SELECT piece_id::uuid AS piece_id, count(*) FILTER (WHERE refused) AS refused, count(*) FILTER (WHERE NOT refused) AS waiting
FROM (SELECT d.piece_id, true AS refused FROM dead d WHERE d.resolved_at IS NULL AND d.piece_id = ANY (@pieces::uuid[])
      UNION ALL
      SELECT w.piece_id, false FROM parked w WHERE w.piece_id = ANY (@pieces::uuid[])) AS aside
GROUP BY piece_id ORDER BY piece_id;

-- name: SumPieces :one
SELECT coalesce(sum(acquisition), 0)::bigint AS acquisition, coalesce(sum(labour), 0)::bigint AS labour, coalesce(sum(material), 0)::bigint AS material,
       coalesce(sum(rework), 0)::bigint AS rework, coalesce(sum(fees), 0)::bigint AS fees, coalesce(sum(revenue), 0)::bigint AS revenue,
       coalesce(sum(tax), 0)::bigint AS tax, coalesce(sum(labour_ms), 0)::bigint AS labour_ms, coalesce(sum(rework_ms), 0)::bigint AS rework_ms,
       coalesce(sum(outside), 0)::bigint AS outside
FROM piece;

-- name: Balances :many
SELECT account, sum(amount)::bigint AS balance FROM posting GROUP BY account ORDER BY account;

-- name: BeginClocks :exec
INSERT INTO clock (entry_id, piece_id, person_id, person_name, started_at)
SELECT entry_id, nullif(piece_id, '00000000-0000-0000-0000-000000000000'), person_id, person_name, started_at
FROM (SELECT unnest(@entry_id::uuid[]) AS entry_id, unnest(@piece_id::uuid[]) AS piece_id, unnest(@person_id::uuid[]) AS person_id,
             unnest(@person_name::text[]) AS person_name, unnest(@started_at::timestamptz[]) AS started_at) AS c;

-- name: EndClocks :exec
DELETE FROM clock WHERE entry_id = ANY (@entries::uuid[]);

-- Whose clocks began before an instant and still run.
-- name: RunningBefore :many
SELECT DISTINCT coalesce(p.name, c.person_name)::text AS name FROM clock c LEFT JOIN person p USING (person_id)
WHERE c.started_at < @before ORDER BY name;

-- How many people are on the clock at pieces; of one person several entries may run at once.
-- name: AtWork :many
SELECT piece_id::uuid AS piece_id, count(DISTINCT person_id) AS people FROM clock WHERE piece_id = ANY (@pieces::uuid[])
GROUP BY piece_id ORDER BY piece_id;

-- What is back without a bill may have gone out before.
-- name: SaveOutside :exec
INSERT INTO outside_work (outside_work_id, piece_id, kind, firm, quoted, unbilled) VALUES (@outside_work_id, @piece_id, @kind, @firm, sqlc.narg(quoted), @unbilled)
ON CONFLICT (outside_work_id) DO UPDATE SET quoted = excluded.quoted, unbilled = excluded.unbilled;

-- name: SettleOutside :exec
DELETE FROM outside_work WHERE outside_work_id = ANY (@works::uuid[]);

-- What of the pieces is out, or back without a bill.
-- name: OutsideOf :many
SELECT outside_work_id, piece_id, kind, firm, quoted, unbilled FROM outside_work WHERE piece_id = ANY (@pieces::uuid[]) ORDER BY piece_id, kind, firm, outside_work_id;

-- name: RaiseReview :exec
INSERT INTO review (review_id, person_id, person_name, since) VALUES (@review_id, @person_id, @person_name, @since);

-- name: SettleReviews :exec
DELETE FROM review WHERE review_id = ANY (@reviews::uuid[]);

-- Whose time since before an instant waits for the lead.
-- name: ReviewedBefore :many
SELECT DISTINCT coalesce(p.name, r.person_name)::text AS name FROM review r LEFT JOIN person p USING (person_id)
WHERE r.since < @before ORDER BY name;

-- The labour of everybody between two instants, by its end.
-- name: StretchesBetween :many
SELECT s.sign, s.person_id, coalesce(p.name, s.person_name)::text AS person_name, s.rework, s.indirect, s.started_at, s.ended_at, s.whole_from
FROM stretch s LEFT JOIN person p USING (person_id)
WHERE s.ended_at > @after AND s.started_at < @before ORDER BY s.ended_at, s.recorded_at, s.event_id, s.sign;

-- name: PayLocks :many
SELECT week, locked_at, actor FROM payroll_lock ORDER BY week;

-- name: PayLines :many
SELECT week, person_id, person_name, labour_ms, rework_ms, indirect_ms, late_ms, pay FROM payroll_line ORDER BY week, person_name, person_id;

-- name: InsertPayLock :exec
INSERT INTO payroll_lock (week, locked_at, actor) VALUES (@week, @locked_at, @actor);

-- name: InsertPayLine :exec
INSERT INTO payroll_line (week, person_id, person_name, labour_ms, rework_ms, indirect_ms, late_ms, pay)
VALUES (@week, @person_id, @person_name, @labour_ms, @rework_ms, @indirect_ms, @late_ms, @pay);

-- What a producer has recorded and the books have not taken in, by its heads.
-- name: BehindHeads :one
SELECT (SELECT count(*) FROM (SELECT unnest(@aggregates::uuid[]) AS aggregate_id, unnest(@versions::bigint[]) AS version) AS h
        LEFT JOIN applied a ON a.producer = @producer AND a.aggregate_id = h.aggregate_id
        WHERE h.version > coalesce(a.version, 0)) AS behind,
       (SELECT count(*) FROM parked w WHERE w.producer = @producer) AS waiting,
       (SELECT count(*) FROM dead d WHERE d.producer = @producer AND d.resolved_at IS NULL) AS refused,
       EXISTS (SELECT FROM source s WHERE s.producer = @producer AND (s.epoch <> @epoch OR s.restoring))::boolean AS restored;
