-- +goose Up

-- What runs while a stage is done, such as a sprayer. Money is in minor units.
CREATE TABLE equipment (
    id            uuid    PRIMARY KEY,
    display_name  text    NOT NULL CHECK (display_name <> ''),
    -- Alike for names that people take for the same.
    name_key      text    NOT NULL,
    -- sprayer, sander, compressor …
    kind          text    NOT NULL CHECK (kind <> ''),
    hourly_cost   bigint  NOT NULL CHECK (hourly_cost >= 0),
    -- Null: it needs none.
    service_hours integer CHECK (service_hours > 0),
    -- The stages that it runs at; with a station's word, only there.
    stage_kinds   text[]  NOT NULL,
    station       text    NOT NULL,
    retired       boolean NOT NULL,
    version       bigint  NOT NULL CHECK (version > 0),
    CONSTRAINT equipment_name_once UNIQUE (name_key)
);

-- How long it ran, by the clocks: a row for each closed entry of a clock at such a stage. An
-- entry that was corrected is another one, and its rows go.
CREATE TABLE equipment_use (
    entry_id     uuid        NOT NULL,
    equipment_id uuid        NOT NULL REFERENCES equipment,
    piece_id     uuid        NOT NULL,
    started_at   timestamptz NOT NULL,
    seconds      bigint      NOT NULL CHECK (seconds > 0),
    PRIMARY KEY (entry_id, equipment_id)
);
CREATE INDEX equipment_use_since ON equipment_use (equipment_id, started_at) INCLUDE (seconds);
CREATE INDEX equipment_use_of_piece ON equipment_use (piece_id);

CREATE TABLE equipment_service (
    id           uuid        PRIMARY KEY,
    equipment_id uuid        NOT NULL REFERENCES equipment,
    serviced_at  timestamptz NOT NULL,
    -- Who did it: a name or a firm.
    serviced_by  text        NOT NULL,
    note         text        NOT NULL,
    -- As people wrote it; the books do not know of it.
    cost_note    text        NOT NULL,
    actor        text        NOT NULL
);
CREATE INDEX equipment_service_newest ON equipment_service (equipment_id, serviced_at, id);
