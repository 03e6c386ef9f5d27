-- +goose Up

-- A version follows the one before it. A hole would keep every consumer waiting for an
-- event that never was, so the database refuses to write one.
ALTER TABLE event
    ADD COLUMN previous bigint GENERATED ALWAYS AS (nullif(version - 1, 0)) STORED,
    ADD CONSTRAINT event_follows FOREIGN KEY (aggregate_id, previous) REFERENCES event (aggregate_id, version);
