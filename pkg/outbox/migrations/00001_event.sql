-- +goose Up

-- One row. After a restore from a backup the epoch is replaced, for versions are then
-- issued a second time with other content; outbox.Restored does it.
CREATE TABLE producer (
    only_one boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    epoch    uuid    NOT NULL
);

-- The service's event log and its outbox in one: an event is unsent while published_at
-- is null. Rows are kept for good, for the books can be rebuilt from them.
CREATE TABLE event (
    id             bigint      GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    event_id       uuid        NOT NULL,
    aggregate_kind text        NOT NULL,
    aggregate_id   uuid        NOT NULL,
    version        bigint      NOT NULL CHECK (version > 0),
    piece_id       uuid,
    type           text        NOT NULL,
    body           bytea       NOT NULL,
    recorded_at    timestamptz NOT NULL,
    published_at   timestamptz,
    stream_seq     bigint,
    CONSTRAINT event_dense_version UNIQUE (aggregate_id, version)
) WITH (autovacuum_vacuum_scale_factor = 0.02);

CREATE INDEX event_unsent ON event (id) WHERE published_at IS NULL;
CREATE INDEX event_recorded ON event USING brin (recorded_at);
