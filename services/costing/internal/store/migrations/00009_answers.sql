-- +goose Up

-- What an hour should cost, from a day on. Costing's own record, as pay rates are; nothing is posted by it.
CREATE TABLE standard_rate (
    id            uuid        PRIMARY KEY,
    effective_day date        NOT NULL,
    effective_at  timestamptz NOT NULL,
    per_hour      bigint      NOT NULL CHECK (per_hour >= 0),
    actor         text        NOT NULL,
    recorded_at   timestamptz NOT NULL
);

-- When a stage was done; null while it is not. What was done before this column was made is here after a rebuild.
ALTER TABLE stage ADD COLUMN done_at timestamptz;

-- What was sent back to be done again: a row for each stage that an event opened anew.
CREATE TABLE sent_back (
    event_id    uuid        NOT NULL,
    stage_id    uuid        NOT NULL,
    piece_id    uuid        NOT NULL,
    stage_kind  text        NOT NULL,
    -- The stage that was sent back, and with it those that built on it.
    because_of  uuid        NOT NULL,
    occurred_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL,
    PRIMARY KEY (event_id, stage_id)
);
CREATE INDEX sent_back_of_piece ON sent_back (piece_id);

-- Inspections that sent something back, and the kinds of what they found.
CREATE TABLE inspection (
    event_id    uuid        PRIMARY KEY,
    piece_id    uuid        NOT NULL,
    sent_back   uuid        NOT NULL,
    defects     text[]      NOT NULL,
    recorded_at timestamptz NOT NULL
);
CREATE INDEX inspection_of_piece ON inspection (piece_id);

-- The ledger by time, for the journal and for what happened on a day.
CREATE INDEX posting_by_time ON posting (occurred_at, tx_id, line);
CREATE INDEX posting_done_again ON posting (occurred_at) WHERE again;
