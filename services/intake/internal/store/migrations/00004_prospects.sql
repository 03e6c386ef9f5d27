-- +goose Up

-- What is told of a piece beside its kind; empty: nobody said.
ALTER TABLE piece
    ADD COLUMN size      text NOT NULL DEFAULT '' CHECK (size IN ('', 'small', 'medium', 'large')),
    ADD COLUMN condition text NOT NULL DEFAULT '' CHECK (condition IN ('', 'sound', 'worn', 'damaged'));

-- What parts pieces of a kind have in this shop is asked for each prospect.
CREATE INDEX piece_by_kind ON piece (lower(kind), tag);

-- A piece that somebody saw and that might be bought.
CREATE TABLE prospect (
    id             uuid        PRIMARY KEY,
    number         integer     NOT NULL CHECK (number > 0),
    state          text        NOT NULL CHECK (state IN ('open', 'bought', 'declined')),
    -- What was seen, the parts that the advice went by, and the advice, as they were then.
    sighting       jsonb       NOT NULL,
    parts          jsonb       NOT NULL,
    advice         jsonb       NOT NULL,
    seen_at        timestamptz NOT NULL,
    piece_id       uuid        REFERENCES piece,
    paid           bigint      CHECK (paid >= 0),
    decline_reason text,
    version        bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT prospect_number_once UNIQUE (number),
    CONSTRAINT prospect_piece_once UNIQUE (piece_id),
    CONSTRAINT prospect_bought_whole CHECK (num_nulls(piece_id, paid) = CASE state WHEN 'bought' THEN 0 ELSE 2 END),
    CONSTRAINT prospect_declined_why CHECK ((decline_reason IS NOT NULL) = (state = 'declined'))
);
CREATE INDEX prospect_by_state ON prospect (state, number);

-- What was seen of a piece before it was bought; NULL: nobody noted it.
ALTER TABLE piece ADD COLUMN prospect_id uuid REFERENCES prospect;

-- The highest number given so far; its lock lets one prospect at a time have the next.
CREATE TABLE prospect_counter (
    only_one boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    last     integer NOT NULL
);
INSERT INTO prospect_counter (last) VALUES (0);

-- What an hour is to earn, and what buying costs. Version 0: the owner said nothing yet.
CREATE TABLE buying_terms (
    only_one         boolean          PRIMARY KEY DEFAULT true CHECK (only_one),
    target_per_hour  bigint           NOT NULL CHECK (target_per_hour >= 0),
    chance           double precision NOT NULL CHECK (chance > 0 AND chance < 1),
    labour_per_hour  bigint           NOT NULL CHECK (labour_per_hour >= 0),
    travel_per_km    bigint           NOT NULL CHECK (travel_per_km >= 0),
    km_per_hour      double precision NOT NULL CHECK (km_per_hour > 0),
    handling_minutes integer          NOT NULL CHECK (handling_minutes >= 0),
    version          bigint           NOT NULL CHECK (version >= 0)
);
INSERT INTO buying_terms (target_per_hour, chance, labour_per_hour, travel_per_km, km_per_hour, handling_minutes, version)
VALUES (0, 0.8, 0, 0, 50, 45, 0);
