-- +goose Up

-- When a scrapped piece was given up: what was done on it before still counts. NULL of a scrapped
-- one: nobody knows any more, and nothing counts that is written down now.
ALTER TABLE piece ADD COLUMN scrapped_at timestamptz;

-- Of those that were scrapped by now the log tells when the floor heard of it, moments later. (When
-- it happened stands inside the event, where SQL does not see it.)
-- +goose StatementBegin
DO $$
BEGIN
    IF to_regclass('event') IS NOT NULL THEN
        UPDATE piece p SET scrapped_at = e.heard_at
        FROM (SELECT aggregate_id, max(recorded_at) AS heard_at FROM event WHERE type = 'work_stopped' GROUP BY aggregate_id) AS e
        WHERE e.aggregate_id = p.id AND p.scrapped;
    END IF;
END $$;
-- +goose StatementEnd
