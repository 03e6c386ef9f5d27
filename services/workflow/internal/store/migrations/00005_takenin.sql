-- +goose Up

-- The floor now keeps each piece that intake takes in, and shows it before anybody has planned it. Of
-- those that came in before, intake is asked again: what was applied of it already changes nothing.
-- +goose StatementBegin
DO $$
BEGIN
    IF to_regclass('applied') IS NOT NULL THEN
        DELETE FROM applied WHERE producer = 'intake';
    END IF;
END $$;
-- +goose StatementEnd
