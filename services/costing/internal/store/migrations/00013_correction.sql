-- +goose Up

-- Why an event put a price right that had been told before.
CREATE TABLE correction (
    event_id uuid PRIMARY KEY,
    reason   text NOT NULL
);
