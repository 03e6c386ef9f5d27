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
-- person, stage, day and way in which it is known, with when the last of it was.
CREATE TABLE oily_work (
    -- By the shop's clock.
    day        date        NOT NULL,
    -- All zeros: it is of no stage, but the shop's own waste.
    stage_id   uuid        NOT NULL,
    -- As people call them.
    person     text        NOT NULL,
    -- By a clock, that the stage was finished, or that something was issued or wasted.
    known_by   text        NOT NULL CHECK (known_by IN ('clock', 'finish', 'entry')),
    -- All zeros: it is known by no entry.
    entry_id   uuid        NOT NULL,
    pass       integer     NOT NULL,
    piece_id   uuid        NOT NULL,
    stage_kind text        NOT NULL,
    at         timestamptz NOT NULL,
    -- When the person's shift ends; null: nobody said.
    shift_end  timestamptz,
    -- When that was last asked for; null: never.
    asked_at   timestamptz,
    PRIMARY KEY (day, stage_id, person, known_by, entry_id)
);
CREATE INDEX oily_work_last ON oily_work (at);
CREATE INDEX oily_work_of_stage ON oily_work (stage_id);

-- Who did the work is who clocked on: that somebody finished the stage says nothing besides, nor
-- that something was issued to it before the clock ended, nor what was undone since. Of one person
-- the last of these.
CREATE VIEW oily_work_done AS
WITH w AS (SELECT * FROM oily_work WHERE NOT EXISTS (SELECT FROM entry u WHERE u.of_id = oily_work.entry_id AND u.kind = 'undone'))
SELECT w.* FROM w WHERE NOT EXISTS (
    SELECT FROM w AS c WHERE c.stage_id = w.stage_id AND (
        c.known_by = 'clock' AND w.known_by = 'finish' AND c.pass = w.pass
        OR c.known_by = 'clock' AND w.known_by = 'entry' AND c.day = w.day AND c.at >= w.at
        OR c.day = w.day AND c.person = w.person AND c.known_by <> 'clock' AND w.known_by <> 'clock'
            AND (c.at, c.known_by, c.entry_id) > (w.at, w.known_by, w.entry_id)));

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

-- That was a mistake; the word stays, and counts no more.
CREATE TABLE oily_waste_withdrawal (
    check_id     uuid        PRIMARY KEY REFERENCES oily_waste_check,
    withdrawn_at timestamptz NOT NULL,
    reason       text        NOT NULL CHECK (reason <> ''),
    actor        text        NOT NULL
);

-- Until when all of it is known to have been put away.
CREATE VIEW oily_put_away AS
SELECT coalesce(max(confirmed_at), '-infinity') AS at
FROM oily_waste_check c WHERE NOT EXISTS (SELECT FROM oily_waste_withdrawal w WHERE w.check_id = c.id);
