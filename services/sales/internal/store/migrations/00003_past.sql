-- +goose Up

-- Goes up whenever something of the past becomes otherwise, and never back; what was learned is
-- good for one number. Whoever has learned what was up to one number reads what changed after it.
CREATE TABLE past_stamp (
    one   boolean PRIMARY KEY DEFAULT true CHECK (one),
    n     bigint  NOT NULL,
    -- Drawn whenever all is forgotten, to be noted anew. By the number alone it could not be told: after a
    -- backup it counts again over numbers that somebody has learned up to.
    epoch uuid    NOT NULL
);
INSERT INTO past_stamp (n, epoch) VALUES (0, gen_random_uuid());

-- What intake and workflow tell of a piece, as far as it says what such a piece brings. Each column is
-- written from one producer's events, which come in their order; so the rows are the same in
-- whatever order the producers are heard.
CREATE TABLE past_piece (
    piece_id    uuid    PRIMARY KEY,
    -- From intake; zero and empty until it was heard.
    tag         integer NOT NULL DEFAULT 0 CHECK (tag >= 0),
    title       text    NOT NULL DEFAULT '',
    origin      text    NOT NULL DEFAULT '' CHECK (origin IN ('', 'stock', 'commission')),
    -- Folded, as names are compared.
    kind        text    NOT NULL DEFAULT '',
    -- Empty: nobody said.
    size        text    NOT NULL DEFAULT '',
    condition   text    NOT NULL DEFAULT '',
    scrapped_at timestamptz,
    -- From workflow: how its latest plan makes it look, folded.
    look        text    NOT NULL DEFAULT '',
    -- The number that the past came to with this.
    changed     bigint  NOT NULL
);

CREATE INDEX past_piece_changed ON past_piece (changed);

-- While one price was asked for a piece. A spell is from a listing to its sale or return.
CREATE TABLE past_stretch (
    piece_id uuid        NOT NULL,
    -- 1 for the first time that it was listed.
    spell    integer     NOT NULL CHECK (spell > 0),
    -- 1 for the price that it was listed at.
    stretch  integer     NOT NULL CHECK (stretch > 0),
    channel  text        NOT NULL,
    asked    bigint      NOT NULL,
    -- As people said; who dates back can let one end before it began.
    from_at  timestamptz NOT NULL,
    to_at    timestamptz,
    ended    text        NOT NULL DEFAULT '' CHECK (ended IN ('', 'changed', 'sold')),
    changed  bigint      NOT NULL,
    PRIMARY KEY (piece_id, spell, stretch),
    CONSTRAINT past_stretch_ends CHECK ((to_at IS NULL) = (ended = ''))
);

CREATE UNIQUE INDEX past_stretch_running ON past_stretch (piece_id) WHERE to_at IS NULL;
CREATE INDEX past_stretch_changed ON past_stretch (changed);

CREATE TABLE past_sale (
    sale_id  uuid        PRIMARY KEY,
    piece_id uuid        NOT NULL,
    -- The one that it ended; 0: the piece was not listed.
    spell    integer     NOT NULL CHECK (spell >= 0),
    channel  text        NOT NULL,
    sold_at  timestamptz NOT NULL,
    -- Without tax.
    price    bigint      NOT NULL,
    -- Of the price, in all refunds.
    refunded bigint      NOT NULL DEFAULT 0,
    returned boolean     NOT NULL DEFAULT false,
    -- The set that it was sold in, if any; the price is then its share.
    set_id   uuid,
    changed  bigint      NOT NULL
);

CREATE INDEX past_sale_changed ON past_sale (changed);

-- What the owner said of selling. NULL where nobody said.
CREATE TABLE selling_terms (
    one                    boolean          PRIMARY KEY DEFAULT true CHECK (one),
    holding_small          bigint           CHECK (holding_small >= 0),
    holding_medium         bigint           CHECK (holding_medium >= 0),
    holding_large          bigint           CHECK (holding_large >= 0),
    fee_percent            double precision NOT NULL DEFAULT 0 CHECK (fee_percent BETWEEN 0 AND 60),
    days_between_markdowns integer          CHECK (days_between_markdowns BETWEEN 1 AND 365),
    most_markdowns         integer          CHECK (most_markdowns BETWEEN 0 AND 12),
    horizon_days           integer          CHECK (horizon_days BETWEEN 1 AND 730),
    salvage_percent        double precision CHECK (salvage_percent BETWEEN 0 AND 100),
    version                bigint           NOT NULL DEFAULT 0
);
INSERT INTO selling_terms DEFAULT VALUES;

-- What such a piece brings, eight times in ten, as the owner believes.
CREATE TABLE selling_belief (
    -- Folded, as names are compared.
    kind_key    text    NOT NULL CHECK (kind_key <> ''),
    -- In the order in which they were said.
    position    integer NOT NULL UNIQUE,
    kind        text    NOT NULL,
    low         bigint  NOT NULL,
    high        bigint  NOT NULL,
    -- 0: the usual.
    days_likely integer NOT NULL CHECK (days_likely BETWEEN 0 AND 730),
    CONSTRAINT selling_belief_once PRIMARY KEY (kind_key),
    CONSTRAINT selling_belief_upright CHECK (0 < low AND low <= high)
);
