-- +goose Up

-- Somewhere that pieces are offered, as its owner described it. Listings and sales name channels by themselves: one of that
-- name, folded, is the same.
CREATE TABLE channel (
    id           uuid    PRIMARY KEY,
    -- Folded, as names are compared.
    name_key     text    NOT NULL CHECK (name_key <> ''),
    display_name text    NOT NULL,
    kind         text    NOT NULL,
    web_address  text    NOT NULL,
    retired      boolean NOT NULL,
    -- Whether somebody said what it keeps; what follows is then that.
    has_fees     boolean NOT NULL,
    -- Of what lies below the first tier, as the tiers' are: exact.
    percent      numeric NOT NULL CHECK (percent BETWEEN 0 AND 100),
    fixed        bigint  NOT NULL CHECK (fixed >= 0),
    whole_price  boolean NOT NULL,
    minimum      bigint  NOT NULL CHECK (minimum >= 0),
    -- NULL: no end.
    most         bigint,
    with_tax     boolean NOT NULL,
    -- Zero only inside the transaction that makes the row.
    version      bigint  NOT NULL CHECK (version >= 0),
    CONSTRAINT channel_named_once UNIQUE (name_key),
    CONSTRAINT channel_minimum_within_most CHECK (most >= minimum)
);

CREATE TABLE channel_tier (
    channel_id uuid    NOT NULL REFERENCES channel,
    from_price bigint  NOT NULL CHECK (from_price > 0),
    percent    numeric NOT NULL CHECK (percent BETWEEN 0 AND 100),
    PRIMARY KEY (channel_id, from_price)
);

ALTER TABLE sale ADD COLUMN fee_from_channel boolean NOT NULL DEFAULT false;
ALTER TABLE sale_set ADD COLUMN fee_from_channel boolean NOT NULL DEFAULT false;
