-- +goose Up

-- Pieces that were sold together at one price; the sale of each is its share.
CREATE TABLE sale_set (
    id      uuid        PRIMARY KEY,
    channel text        NOT NULL CHECK (channel <> ''),
    buyer   text        NOT NULL,
    price   bigint      NOT NULL CHECK (price > 0),
    tax     bigint      NOT NULL CHECK (tax BETWEEN 0 AND price),
    fee     bigint      NOT NULL CHECK (fee BETWEEN 0 AND price),
    sold_at timestamptz NOT NULL
);

ALTER TABLE sale
    ADD COLUMN set_id uuid REFERENCES sale_set,
    -- 1 for the set's first piece.
    ADD COLUMN set_place integer CHECK (set_place > 0),
    ADD COLUMN set_weight bigint CHECK (set_weight > 0),
    ADD CONSTRAINT sale_of_set_has_share CHECK ((set_id IS NULL) = (set_place IS NULL) AND (set_id IS NULL) = (set_weight IS NULL)),
    ADD CONSTRAINT sale_place_in_set UNIQUE (set_id, set_place);
