-- +goose Up

-- Pieces that were bought together at one price. The row's lock puts the commands about a lot in order.
CREATE TABLE lot (
    id            uuid        PRIMARY KEY,
    source        text        NOT NULL,
    purchase_date date        NOT NULL,
    -- What becomes of the share of a piece that is scrapped.
    on_scrap      text        NOT NULL CHECK (on_scrap IN ('keeps', 'takes_over')),
    taken_in_at   timestamptz NOT NULL
);

-- What was said of a lot's price and split, one after the other. Rows are only added; those of the
-- highest version are in force.
CREATE TABLE lot_terms (
    lot_id  uuid        NOT NULL REFERENCES lot,
    version bigint      NOT NULL CHECK (version > 0),
    price   bigint      NOT NULL CHECK (price >= 0),
    split   text        NOT NULL CHECK (split IN ('by_value', 'equally', 'by_hand')),
    -- Empty of the first.
    reason  text        NOT NULL,
    set_at  timestamptz NOT NULL,
    PRIMARY KEY (lot_id, version)
);

-- The shares of one version add up to its price; the price of each piece is its newest share.
CREATE TABLE lot_share (
    lot_id   uuid    NOT NULL,
    version  bigint  NOT NULL,
    position integer NOT NULL,
    piece_id uuid    NOT NULL REFERENCES piece,
    weight   bigint  NOT NULL CHECK (weight >= 0),
    share    bigint  NOT NULL CHECK (share >= 0),
    PRIMARY KEY (lot_id, version, position),
    CONSTRAINT lot_share_of_terms FOREIGN KEY (lot_id, version) REFERENCES lot_terms,
    CONSTRAINT lot_share_once UNIQUE (lot_id, version, piece_id)
);

ALTER TABLE piece
    ADD COLUMN lot_id uuid REFERENCES lot,
    ADD CONSTRAINT piece_of_lot_is_bought CHECK (lot_id IS NULL OR price IS NOT NULL);
