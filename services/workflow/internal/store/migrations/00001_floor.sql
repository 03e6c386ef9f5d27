-- +goose Up

CREATE TABLE person (
    id           uuid   PRIMARY KEY,
    display_name text   NOT NULL,
    -- Alike for names that people take for the same.
    name_key     text   NOT NULL CONSTRAINT person_name_once UNIQUE,
    skills       text[] NOT NULL,
    version      bigint NOT NULL CHECK (version > 0)
);

CREATE TABLE route (
    id      uuid   PRIMARY KEY,
    word    text   NOT NULL CONSTRAINT route_word_once UNIQUE,
    version bigint NOT NULL CHECK (version > 0)
);

CREATE TABLE step (
    route_id           uuid    NOT NULL REFERENCES route,
    position           integer NOT NULL,
    key                text    NOT NULL,
    kind               text    NOT NULL,
    scope              text    NOT NULL CHECK (scope IN ('part', 'piece')),
    after_keys         text[]  NOT NULL,
    skill              text    NOT NULL,
    attended_minutes   integer NOT NULL CHECK (attended_minutes >= 0),
    unattended_minutes integer NOT NULL CHECK (unattended_minutes >= 0),
    PRIMARY KEY (route_id, position),
    CONSTRAINT step_key_once UNIQUE (route_id, key)
);

-- A piece as the floor knows it: from when its stages are laid out, or it is scrapped.
-- Its version counts the floor's events about it.
CREATE TABLE piece (
    id          uuid        PRIMARY KEY,
    tag         integer     NOT NULL, -- 0 until it is planned
    taken_in_at timestamptz,          -- NULL until it is planned
    scrapped    boolean     NOT NULL,
    planned     boolean     NOT NULL,
    version     bigint      NOT NULL CHECK (version >= 0)
) WITH (fillfactor = 80);

CREATE TABLE stage (
    id                 uuid          PRIMARY KEY,
    piece_id           uuid          NOT NULL REFERENCES piece,
    part_id            uuid,
    part_label         text          NOT NULL,
    key                text          NOT NULL,
    kind               text          NOT NULL,
    skill              text          NOT NULL,
    position           integer       NOT NULL,
    attended_minutes   integer       NOT NULL CHECK (attended_minutes >= 0),
    unattended_minutes integer       NOT NULL CHECK (unattended_minutes >= 0),
    after_ids          uuid[]        NOT NULL,
    pass               integer       NOT NULL,
    -- Oldest first: work counts for the pass in which it was begun.
    send_back_times    timestamptz[] NOT NULL DEFAULT '{}',
    finished_at        timestamptz,
    assignee_id        uuid          REFERENCES person,
    CONSTRAINT stage_place_once UNIQUE (piece_id, position),
    CONSTRAINT stage_pass_counts_send_backs CHECK (pass = 1 + cardinality(send_back_times))
);

CREATE TABLE clock_entry (
    id          uuid        PRIMARY KEY,
    person_id   uuid        NOT NULL REFERENCES person,
    piece_id    uuid        NOT NULL REFERENCES piece,
    stage_id    uuid        NOT NULL REFERENCES stage,
    pass        integer     NOT NULL CHECK (pass > 0),
    started_at  timestamptz NOT NULL,
    ended_at    timestamptz,
    span        tstzrange   NOT NULL GENERATED ALWAYS AS (tstzrange(started_at, ended_at)) STORED,
    corrects    uuid        REFERENCES clock_entry,
    superseded  boolean     NOT NULL,
    actor       text        NOT NULL,
    reason      text        NOT NULL,
    CONSTRAINT clock_ends_after_start CHECK (ended_at > started_at),
    -- One pair of hands: no two entries of a person overlap, and so at most one is open,
    -- for an open one has no upper bound.
    CONSTRAINT clock_one_pair_of_hands EXCLUDE USING gist (person_id WITH =, span WITH &&) WHERE (NOT superseded)
);
CREATE INDEX clock_open ON clock_entry (person_id) WHERE ended_at IS NULL AND NOT superseded;
CREATE INDEX clock_on_stage ON clock_entry (stage_id) WHERE ended_at IS NULL AND NOT superseded;
CREATE INDEX clock_of_person ON clock_entry (person_id, started_at, id);
CREATE INDEX clock_of_piece ON clock_entry (piece_id, started_at, id);
CREATE UNIQUE INDEX clock_corrected_once ON clock_entry (corrects);
