-- +goose Up

-- What a locked week, a closed month and a reopening say is told by no event, so nothing can be recomputed that it would be
-- compared with. Of each a digest is kept as it is made.

-- What it comes to. A digest is read from here both when it is kept and when it is compared, and the columns are named,
-- so that one added later changes none. No setting of a session has a say in it: JSON writes days, whole numbers and text in
-- one way only, instants are counted in microseconds, and nothing is sorted by the rules of a language.
CREATE VIEW payroll_digest AS
SELECT l.week, count(p.person_id) AS lines,
       sha256(convert_to(jsonb_build_array(l.week, (extract(epoch FROM l.locked_at) * 1000000)::bigint, l.actor,
           jsonb_agg(jsonb_build_array(p.person_id, p.person_name, p.labour_ms, p.rework_ms, p.indirect_ms, p.late_ms, p.pay, p.breaks_ms,
                                       p.rounding_ms, p.overtime_ms, p.break_pay, p.rounding_pay, p.premium, p.late_pay, p.burden, p.regular_pay, p.regular_ms)
                     ORDER BY p.person_id))::text, 'UTF8')) AS digest
FROM payroll_lock l LEFT JOIN payroll_line p ON p.week = l.week GROUP BY l.week;

CREATE VIEW month_digest AS
SELECT c.id AS close_id,
       sha256(convert_to(jsonb_build_array(c.id, c.month, c.since, (extract(epoch FROM c.ends_at) * 1000000)::bigint, c.follows, c.settlement, c.with_indirect,
           c.applied, c.actual, c.indirect, c.actor, (extract(epoch FROM c.closed_at) * 1000000)::bigint,
           (SELECT jsonb_agg(jsonb_build_array(b.account, b.amount, b.late) ORDER BY b.account COLLATE "C") FROM month_balance b WHERE b.close_id = c.id),
           (SELECT jsonb_agg(jsonb_build_array(d.day, d.account, d.amount) ORDER BY d.day, d.account COLLATE "C") FROM month_day d WHERE d.close_id = c.id),
           (SELECT jsonb_agg(jsonb_build_array(s.piece_id, s.again, s.amount) ORDER BY s.piece_id) FROM month_share s WHERE s.close_id = c.id))::text, 'UTF8')) AS digest
FROM month_close c;

-- All that is sealed, as it is now: kind and day are what a bookkeeper calls it by, the Monday of a week or the first of a
-- month. A week has no id but zeros, and only a week has lines.
CREATE VIEW sealed AS
SELECT 'payroll week' AS kind, l.week AS day, '00000000-0000-0000-0000-000000000000'::uuid AS id, l.actor, l.locked_at AS at, d.lines, d.digest
FROM payroll_lock l JOIN payroll_digest d ON d.week = l.week
UNION ALL
SELECT 'close', c.month, c.id, c.actor, c.closed_at, 0, d.digest FROM month_close c JOIN month_digest d ON d.close_id = c.id
UNION ALL
SELECT 'reopening', c.month, r.id, r.actor, r.reopened_at, 0,
       sha256(convert_to(jsonb_build_array(r.id, r.close_id, r.reason, r.actor, (extract(epoch FROM r.reopened_at) * 1000000)::bigint)::text, 'UTF8'))
FROM month_reopen r JOIN month_close c ON c.id = r.close_id;

-- The seals, numbered from 1 in the order in which they were set, so that what was deleted whole is missed. The digest of each
-- is of all that it says and of the digest before it. Content null: what it seals is older than this table; that it was there
-- is sealed, but nobody makes up afterwards what it said.
CREATE TABLE seal (
    number  bigint PRIMARY KEY,
    kind    text   NOT NULL,
    day     date   NOT NULL,
    id      uuid   NOT NULL,
    actor   text   NOT NULL,
    lines   bigint NOT NULL,
    content bytea,
    digest  bytea  NOT NULL
);

-- The last seal that was set, kept apart from it, so that it is missed as well. Whoever sets one waits here for whoever does.
CREATE TABLE seal_head (
    only_one boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    number   bigint  NOT NULL,
    digest   bytea   NOT NULL
);

CREATE FUNCTION seal_digest(number bigint, kind text, day date, id uuid, actor text, lines bigint, content bytea, before bytea) RETURNS bytea LANGUAGE sql STABLE
    RETURN sha256(convert_to(jsonb_build_array(number, kind, day, id, actor, lines, encode(content, 'hex'), encode(before, 'hex'))::text, 'UTF8'));

-- Each seal with how many are missing before it, and what its digest comes to now.
CREATE VIEW seal_chain AS
SELECT s.number, s.kind, s.day, s.digest, s.number - lag(s.number, 1, 0::bigint) OVER w - 1 AS missing,
       seal_digest(s.number, s.kind, s.day, s.id, s.actor, s.lines, s.content, lag(s.digest, 1, ''::bytea) OVER w) AS comes_to
FROM seal s WINDOW w AS (ORDER BY s.number);

WITH RECURSIVE older AS (SELECT row_number() OVER (ORDER BY r.at, r.kind, r.day, r.id) AS number, r.* FROM sealed r),
chain AS (
    SELECT 0::bigint AS number, '' AS kind, NULL::date AS day, NULL::uuid AS id, '' AS actor, 0::bigint AS lines, ''::bytea AS digest
    UNION ALL
    SELECT o.number, o.kind, o.day, o.id, o.actor, o.lines, seal_digest(o.number, o.kind, o.day, o.id, o.actor, o.lines, NULL, c.digest)
    FROM chain c JOIN older o ON o.number = c.number + 1
)
INSERT INTO seal (number, kind, day, id, actor, lines, digest) SELECT number, kind, day, id, actor, lines, digest FROM chain WHERE number > 0;
INSERT INTO seal_head (number, digest) SELECT h.number, h.digest FROM (SELECT 0 AS number, ''::bytea AS digest UNION ALL SELECT number, digest FROM seal) AS h
ORDER BY h.number DESC LIMIT 1;
