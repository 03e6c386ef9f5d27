-- +goose Up

-- Where lots stand. No place is ever deleted: lots and what was written down name it.
CREATE TABLE place (
    id           uuid    PRIMARY KEY,
    -- shelf-2, yellow-cabinet …
    word         text    NOT NULL,
    display_name text    NOT NULL CHECK (display_name <> ''),
    kind         text    NOT NULL CHECK (kind IN ('open', 'cabinet', 'room', 'outdoors')),
    -- The fire area of the building that it is in; empty: nobody told areas apart.
    area         text    NOT NULL,
    -- Nothing new is put there.
    retired      boolean NOT NULL,
    version      bigint  NOT NULL CHECK (version > 0),
    CONSTRAINT place_word_once UNIQUE (word)
);
ALTER TABLE lot ADD CONSTRAINT lot_stands_at_a_place FOREIGN KEY (place_id) REFERENCES place;
ALTER TABLE entry ADD CONSTRAINT entry_names_a_place FOREIGN KEY (place_id) REFERENCES place;

CREATE INDEX lot_expires ON lot (expires_at, id) WHERE quantity_left > 0 AND expires_at IS NOT NULL;
CREATE INDEX entry_of_waste ON entry (at, id) WHERE purpose = 'waste';

-- Work that left rags, pads or residues behind which heat up by themselves: a row for each
-- person, stage and day, with when the last of it was.
CREATE TABLE oily_work (
    -- By the shop's clock.
    day        date        NOT NULL,
    stage_id   uuid        NOT NULL,
    -- As people call them.
    person     text        NOT NULL,
    piece_id   uuid        NOT NULL,
    stage_kind text        NOT NULL,
    at         timestamptz NOT NULL,
    -- When the person's shift ends; null: nobody said.
    shift_end  timestamptz,
    PRIMARY KEY (day, stage_id, person)
);
CREATE INDEX oily_work_last ON oily_work (at);

-- Somebody saw to it that all oily waste there was had been put away.
CREATE TABLE oily_waste_check (
    id           uuid        PRIMARY KEY,
    confirmed_at timestamptz NOT NULL,
    way          text        NOT NULL CHECK (way IN ('spread out to dry', 'metal can with water', 'taken away')),
    note         text        NOT NULL,
    actor        text        NOT NULL,
    recorded_at  timestamptz NOT NULL
);
CREATE INDEX oily_waste_check_newest ON oily_waste_check (confirmed_at);
