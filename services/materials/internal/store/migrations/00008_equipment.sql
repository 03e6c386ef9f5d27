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
    -- What it had run before the shop wrote it down.
    starting_hours integer NOT NULL CHECK (starting_hours >= 0),
    version       bigint  NOT NULL CHECK (version > 0),
    CONSTRAINT equipment_name_once UNIQUE (name_key)
);

-- Where and at what cost it ran from when to when. Nothing that was is changed, so that what ran
-- can be computed anew from the clocks, as it was computed then.
CREATE TABLE equipment_setting (
    equipment_id uuid        NOT NULL REFERENCES equipment,
    version      bigint      NOT NULL,
    held_from    timestamptz NOT NULL,
    -- Null: it holds still.
    held_until   timestamptz CHECK (held_until >= held_from),
    hourly_cost  bigint      NOT NULL CHECK (hourly_cost >= 0),
    stage_kinds  text[]      NOT NULL,
    station      text        NOT NULL,
    retired      boolean     NOT NULL,
    PRIMARY KEY (equipment_id, version)
);

-- When it ran, by the clocks: a row for each closed entry of a clock at such a stage, and for
-- each setting that held meanwhile. An entry that was corrected is another one, and its rows go.
CREATE TABLE equipment_use (
    entry_id     uuid        NOT NULL,
    equipment_id uuid        NOT NULL REFERENCES equipment,
    piece_id     uuid        NOT NULL,
    started_at   timestamptz NOT NULL,
    ended_at     timestamptz NOT NULL CHECK (ended_at > started_at),
    -- As it was then.
    hourly_cost  bigint      NOT NULL CHECK (hourly_cost >= 0),
    PRIMARY KEY (entry_id, equipment_id, started_at)
);
CREATE INDEX equipment_use_since ON equipment_use (equipment_id, started_at, entry_id) INCLUDE (ended_at, hourly_cost);
CREATE INDEX equipment_use_of_piece ON equipment_use (piece_id);

-- When it ran, each hour once: two people who work side by side have one machine run, not two.
-- The one who began later has what goes on after the others have ended.
CREATE VIEW equipment_ran AS
SELECT equipment_id, entry_id, hourly_cost, greatest(started_at, others_until)::timestamptz AS started_at, ended_at
FROM (
    SELECT u.equipment_id, u.entry_id, u.hourly_cost, u.started_at, u.ended_at,
        max(u.ended_at) OVER (PARTITION BY u.equipment_id ORDER BY u.started_at, u.entry_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS others_until
    FROM equipment_use u
) side_by_side
WHERE others_until IS NULL OR ended_at > others_until;

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
