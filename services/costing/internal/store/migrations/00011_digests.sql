-- +goose Up

-- What a locked week and a closed month have counted is told by no event, so nothing can be recomputed that it would be
-- compared with. Each keeps a digest instead of what it was made of, and the week how many lines it had. Null: it was made
-- before these columns were, and nobody makes one up for it afterwards.
ALTER TABLE payroll_lock
    ADD COLUMN lines  bigint,
    ADD COLUMN digest bytea,
    ADD CONSTRAINT payroll_lock_is_sealed_whole CHECK ((lines IS NULL) = (digest IS NULL));
ALTER TABLE month_close ADD COLUMN digest bytea;

-- What it comes to now. A digest is read from here both when it is kept and when it is compared, and the columns are named,
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
