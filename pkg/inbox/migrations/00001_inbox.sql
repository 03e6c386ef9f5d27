-- +goose Up

-- The newest version applied of each producer's aggregate. It grows with pieces, not
-- with events, so it needs no cleaning.
CREATE TABLE applied (
    producer     text   NOT NULL,
    aggregate_id uuid   NOT NULL,
    version      bigint NOT NULL,
    PRIMARY KEY (producer, aggregate_id)
) WITH (fillfactor = 80, autovacuum_vacuum_scale_factor = 0.05);

-- Events that came before an earlier one of their aggregate.
CREATE TABLE parked (
    producer     text        NOT NULL,
    aggregate_id uuid        NOT NULL,
    version      bigint      NOT NULL,
    piece_id     uuid,
    body         bytea       NOT NULL,
    since        timestamptz NOT NULL,
    PRIMARY KEY (producer, aggregate_id, version)
);

-- Messages that could not be read (damaged) and events that could not be applied
-- (refused). An open refused one holds up its own aggregate and nothing else.
CREATE TABLE dead (
    id           uuid        PRIMARY KEY,
    cause        text        NOT NULL CHECK (cause IN ('damaged', 'refused')),
    producer     text        NOT NULL,
    aggregate_id uuid,
    version      bigint      NOT NULL,
    piece_id     uuid,
    event_id     text        NOT NULL,
    subject      text        NOT NULL,
    body         bytea       NOT NULL,
    error        text        NOT NULL,
    tries        integer     NOT NULL,
    first_at     timestamptz NOT NULL,
    resolved_at  timestamptz,
    CONSTRAINT dead_once UNIQUE (producer, event_id)
);

CREATE INDEX dead_open ON dead (producer, aggregate_id, version) WHERE resolved_at IS NULL;

-- The producers as they were last seen.
CREATE TABLE source (
    producer    text        PRIMARY KEY,
    epoch       text        NOT NULL,
    behind      bigint      NOT NULL,
    compared_at timestamptz NOT NULL
);
