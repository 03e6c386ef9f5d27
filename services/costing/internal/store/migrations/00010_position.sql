-- +goose Up

-- The order in which the books took things in. Whoever books holds the booking lock until its commit, so all
-- below a position that can be seen can be seen too, and stays below. The sequence keeps nothing back for a
-- session: numbers that one session had in store would come out of turn.
CREATE SEQUENCE posting_position CACHE 1;

-- Lines from before come in the order in which they were recorded. A rebuild has put some where others had been, so
-- that the place in which they are kept says nothing. All are written anew in that order: numbering each where it is
-- would write it twice, into every index.
CREATE TEMPORARY TABLE line_before ON COMMIT DROP AS TABLE posting;
TRUNCATE posting;
ALTER TABLE posting DROP CONSTRAINT posting_pkey, ADD COLUMN position bigint NOT NULL DEFAULT nextval('posting_position');
DROP INDEX posting_of_piece, posting_of_group, posting_by_time, posting_done_again;
INSERT INTO posting SELECT * FROM line_before ORDER BY recorded_at, tx_id, line;
ALTER TABLE posting ADD PRIMARY KEY (tx_id, line);
CREATE INDEX posting_of_piece ON posting (piece_id, account);
CREATE INDEX posting_of_group ON posting (group_id) WHERE group_kind <> '';
CREATE INDEX posting_by_time ON posting (occurred_at, tx_id, line);
CREATE INDEX posting_done_again ON posting (occurred_at) WHERE again;
CREATE INDEX posting_by_position ON posting USING brin (position);

-- When in that order a month was closed, and when that was taken back: a close has counted what the books
-- had up to there. Of a close from before, that is as good as can be told by what it posted itself, or by
-- when that was recorded.
ALTER TABLE month_close ADD COLUMN position bigint;
-- The ledger is read once for all closes: each line is of the first of them that was made no earlier.
WITH closes AS (SELECT id, closed_at, row_number() OVER (ORDER BY closed_at, id) AS n FROM month_close),
     reached AS MATERIALIZED (
         SELECT c.id, width_bucket(p.recorded_at - interval '1 microsecond', (SELECT array_agg(k.closed_at ORDER BY k.n) FROM closes k)) AS earlier, max(p.position) AS position
         FROM posting p LEFT JOIN month_close c ON c.id = p.event_id GROUP BY 1, 2)
UPDATE month_close c SET position = o.position
FROM (SELECT k.id, max(coalesce((SELECT max(r.position) FROM reached r WHERE r.id = k.id),
                                (SELECT max(r.position) FROM reached r WHERE r.earlier < k.n), 0)) OVER (ORDER BY k.n) AS position
      FROM closes k) AS o WHERE o.id = c.id;
ALTER TABLE month_close ALTER COLUMN position SET NOT NULL, ALTER COLUMN position SET DEFAULT nextval('posting_position');
ALTER TABLE month_reopen ADD COLUMN position bigint NOT NULL DEFAULT nextval('posting_position');

-- When in that order a rebuild put other lines in place, and from which instant on: a journal that was taken
-- before has other entries from then on. Or when the books were set back to a backup, which holds what was taken
-- up to a position; what was taken after that may have been of any day, and since is null.
CREATE TABLE remade (
    position bigint      PRIMARY KEY DEFAULT nextval('posting_position'),
    since    timestamptz,
    kept     bigint      NOT NULL DEFAULT 0 CONSTRAINT remade_keeps_what_came_before CHECK (kept < position)
);
