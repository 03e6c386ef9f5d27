-- +goose Up

-- Commands that were done, with the answer they got: asking again gets the same answer.
CREATE TABLE request (
    actor      text        NOT NULL,
    request_id uuid        NOT NULL,
    hash       bytea       NOT NULL,
    response   bytea       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT request_once PRIMARY KEY (actor, request_id)
) WITH (autovacuum_vacuum_scale_factor = 0.02);

CREATE INDEX request_created ON request USING brin (created_at);
