-- +goose Up

CREATE TABLE piece (
    id            uuid        PRIMARY KEY,
    tag           integer     NOT NULL CHECK (tag > 0),
    title         text        NOT NULL,
    kind          text        NOT NULL,
    -- A stock piece has a price and a source, a commission has a client.
    price         bigint      CHECK (price >= 0),
    source        text,
    purchase_date date,
    client        text,
    state         text        NOT NULL CHECK (state IN ('in_hand', 'scrapped')),
    scrap_reason  text        NOT NULL,
    taken_in_at   timestamptz NOT NULL,
    version       bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT piece_tag_once UNIQUE (tag),
    CONSTRAINT piece_has_one_origin CHECK ((price IS NULL) <> (client IS NULL))
);

CREATE TABLE part (
    id             uuid    PRIMARY KEY,
    piece_id       uuid    NOT NULL REFERENCES piece,
    position       integer NOT NULL,
    label          text    NOT NULL,
    count          integer NOT NULL CHECK (count > 0),
    -- As they were measured; zero where nobody measured.
    length         numeric NOT NULL CHECK (length >= 0),
    length_unit    text    NOT NULL,
    width          numeric NOT NULL CHECK (width >= 0),
    width_unit     text    NOT NULL,
    thickness      numeric NOT NULL CHECK (thickness >= 0),
    thickness_unit text    NOT NULL,
    CONSTRAINT part_place UNIQUE (piece_id, position)
);

-- The highest tag given so far; its lock lets one piece at a time choose a tag.
CREATE TABLE tag_counter (
    only_one boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    last     integer NOT NULL
);
INSERT INTO tag_counter (last) VALUES (0);
