-- +goose Up

-- What intake says of pieces that were bought together at one price, one after the other.
CREATE TABLE lot_terms (
    lot_id      uuid        NOT NULL,
    version     bigint      NOT NULL CHECK (version > 0),
    event_id    uuid        NOT NULL,
    price       bigint      NOT NULL CHECK (price >= 0),
    -- Whether others take the share of a piece over that is scrapped; the first terms say it.
    takes_over  boolean     NOT NULL,
    occurred_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL,
    PRIMARY KEY (lot_id, version)
);

-- What each piece counts for, in the order in which they were given.
CREATE TABLE lot_share (
    lot_id   uuid    NOT NULL,
    version  bigint  NOT NULL,
    position integer NOT NULL,
    piece_id uuid    NOT NULL,
    weight   bigint  NOT NULL CHECK (weight >= 0),
    PRIMARY KEY (lot_id, version, position)
);
CREATE INDEX lot_share_of_piece ON lot_share (piece_id);
