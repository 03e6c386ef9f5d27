-- +goose Up

-- When pieces were sold, or invoiced, and did not come back for good, as sales tells. piece.sold_at is the same but while a
-- piece is back with a fault: then the floor has it to work on.
CREATE TABLE sale (
    piece_id uuid        PRIMARY KEY,
    sold_at  timestamptz NOT NULL
);
INSERT INTO sale (piece_id, sold_at) SELECT id, sold_at FROM piece WHERE sold_at IS NOT NULL;

-- What came back with a fault, what became of it, and where the fault is from as it was last judged.
CREATE TABLE comeback (
    id           uuid        PRIMARY KEY,
    piece_id     uuid        NOT NULL REFERENCES piece,
    sold_at      timestamptz NOT NULL,
    reported_at  timestamptz NOT NULL,
    reported_by  text        NOT NULL,
    note         text        NOT NULL,
    warranty     boolean     NOT NULL,
    in_shop      boolean     NOT NULL,
    outcome      text        NOT NULL CHECK (outcome IN ('', 'mended', 'refunded', 'nothing_found', 'declined')),
    outcome_note text        NOT NULL,
    closed_at    timestamptz,
    returned_at  timestamptz,
    actor        text        NOT NULL,
    source       text        NOT NULL CHECK (source IN ('', 'product', 'climate', 'hand', 'schedule', 'piece', 'use', 'unknown')),
    certainty    text        NOT NULL,
    product_id   uuid,
    product_name text        NOT NULL,
    lot          text        NOT NULL,
    stage_id     uuid, -- an amended plan may no longer have it
    stage_title  text        NOT NULL,
    person_id    uuid        REFERENCES person,
    judge_note   text        NOT NULL,
    judged_at    timestamptz,
    judged_by    text        NOT NULL,
    version      bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT comeback_says_how_it_ended CHECK ((closed_at IS NULL) = (outcome = '') AND (closed_at IS NULL) = (returned_at IS NULL)),
    CONSTRAINT comeback_says_when_it_was_judged CHECK ((judged_at IS NULL) = (source = '') AND (source = '') = (certainty = ''))
);
CREATE UNIQUE INDEX comeback_open_once ON comeback (piece_id) WHERE closed_at IS NULL;
CREATE INDEX comeback_by_time ON comeback (reported_at DESC, id DESC);
CREATE INDEX comeback_of_piece ON comeback (piece_id);

-- What was wrong with it, in the words that inspections have too.
CREATE TABLE comeback_fault (
    comeback_id uuid    NOT NULL REFERENCES comeback,
    nth         integer NOT NULL,
    kind        text    NOT NULL,
    part_id     uuid,
    part_label  text    NOT NULL,
    photo       text    NOT NULL,
    note        text    NOT NULL,
    PRIMARY KEY (comeback_id, nth)
);

-- The stages that mend it.
CREATE TABLE comeback_stage (
    stage_id    uuid PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    comeback_id uuid NOT NULL REFERENCES comeback
);
CREATE INDEX comeback_stage_of ON comeback_stage (comeback_id);
