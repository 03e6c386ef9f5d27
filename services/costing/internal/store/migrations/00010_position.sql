-- +goose Up

-- The order in which the books took things in. Whoever books holds the booking lock until its commit, so all
-- below a position that can be seen can be seen too, and stays below. The sequence keeps nothing back for a
-- session: numbers that one session had in store would come out of turn.
CREATE SEQUENCE posting_position CACHE 1;

-- Lines from before come in the order in which they are kept.
ALTER TABLE posting ADD COLUMN position bigint NOT NULL DEFAULT nextval('posting_position');
CREATE INDEX posting_by_position ON posting USING brin (position);

-- When in that order a month was closed, and when that was taken back: a close has counted what the books
-- had up to there. Of a close from before, that is as good as can be told by what it posted itself, or by
-- when that was recorded.
ALTER TABLE month_close ADD COLUMN position bigint;
UPDATE month_close c SET position = o.position
FROM (SELECT k.id, max(coalesce((SELECT max(p.position) FROM posting p WHERE p.event_id = k.id),
                                (SELECT max(p.position) FROM posting p WHERE p.recorded_at <= k.closed_at), 0)) OVER (ORDER BY k.closed_at, k.id) AS position
      FROM month_close k) AS o WHERE o.id = c.id;
ALTER TABLE month_close ALTER COLUMN position SET NOT NULL, ALTER COLUMN position SET DEFAULT nextval('posting_position');
ALTER TABLE month_reopen ADD COLUMN position bigint NOT NULL DEFAULT nextval('posting_position');

-- When in that order a rebuild put other lines in place, and from which instant on: a journal that was taken
-- before has other entries from then on.
CREATE TABLE remade (
    position bigint      PRIMARY KEY DEFAULT nextval('posting_position'),
    since    timestamptz NOT NULL
);
