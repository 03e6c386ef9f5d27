-- +goose Up

-- What sales knows of one piece. The row's lock puts the commands about a piece in order.
CREATE TABLE listing (
    piece_id     uuid    PRIMARY KEY,
    -- Intake keeps tags apart; a sale must not fail where it did not.
    tag          integer NOT NULL CHECK (tag > 0),
    state        text    NOT NULL CHECK (state IN ('not_listed', 'listed', 'sold')),
    -- Of the latest listing; empty and zero when there is none.
    channel      text    NOT NULL,
    asking_price bigint  NOT NULL CHECK (asking_price >= 0),
    -- Zero only inside the transaction that makes the row.
    version      bigint  NOT NULL CHECK (version >= 0),
    CONSTRAINT listing_channel_with_price CHECK ((channel = '') = (asking_price = 0)),
    CONSTRAINT listing_state_fits CHECK (CASE state WHEN 'listed' THEN asking_price > 0 WHEN 'not_listed' THEN asking_price = 0 ELSE true END)
);

CREATE INDEX listing_by_tag ON listing (tag, piece_id);

CREATE TABLE sale (
    id             uuid        PRIMARY KEY,
    piece_id       uuid        NOT NULL REFERENCES listing,
    -- 1 for the piece's first sale.
    position       integer     NOT NULL CHECK (position > 0),
    channel        text        NOT NULL CHECK (channel <> ''),
    buyer          text        NOT NULL,
    price          bigint      NOT NULL,
    tax            bigint      NOT NULL CHECK (tax >= 0),
    fee            bigint      NOT NULL CHECK (fee >= 0),
    sold_at        timestamptz NOT NULL,
    -- Sums over the sale's refunds.
    price_refunded bigint      NOT NULL DEFAULT 0,
    tax_refunded   bigint      NOT NULL DEFAULT 0,
    fee_returned   bigint      NOT NULL DEFAULT 0,
    piece_returned boolean     NOT NULL DEFAULT false,
    CONSTRAINT sale_place UNIQUE (piece_id, position),
    CONSTRAINT sale_price_above_zero CHECK (price > 0),
    CONSTRAINT sale_fee_within_price CHECK (fee <= price),
    CONSTRAINT sale_tax_within_price CHECK (tax <= price),
    CONSTRAINT sale_refunded_within CHECK (
        price_refunded BETWEEN 0 AND price AND tax_refunded BETWEEN 0 AND tax AND fee_returned BETWEEN 0 AND fee)
);

-- Two buyers at once get exactly one sale.
CREATE UNIQUE INDEX sale_open_once ON sale (piece_id) WHERE NOT piece_returned;

-- Rows are only added.
CREATE TABLE refund (
    id             uuid        PRIMARY KEY,
    sale_id        uuid        NOT NULL REFERENCES sale,
    price          bigint      NOT NULL CHECK (price >= 0),
    tax            bigint      NOT NULL CHECK (tax >= 0),
    fee            bigint      NOT NULL CHECK (fee >= 0),
    piece_returned boolean     NOT NULL,
    reason         text        NOT NULL,
    refunded_at    timestamptz NOT NULL,
    CONSTRAINT refund_of_something CHECK (price > 0 OR tax > 0 OR fee > 0 OR piece_returned)
);

CREATE INDEX refund_of_sale ON refund (sale_id);
CREATE UNIQUE INDEX refund_returns_once ON refund (sale_id) WHERE piece_returned;
