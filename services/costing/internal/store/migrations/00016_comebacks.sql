-- +goose Up

-- What came back with a fault after it was sold, and the stages that mend it: what of rework is of which.
CREATE TABLE comeback (
    comeback_id uuid        PRIMARY KEY,
    piece_id    uuid        NOT NULL,
    warranty    boolean     NOT NULL,
    source      text        NOT NULL,
    reported_at timestamptz NOT NULL
);
CREATE TABLE comeback_stage (
    stage_id    uuid PRIMARY KEY,
    comeback_id uuid NOT NULL,
    piece_id    uuid NOT NULL
);
CREATE INDEX comeback_stage_of_piece ON comeback_stage (piece_id);
