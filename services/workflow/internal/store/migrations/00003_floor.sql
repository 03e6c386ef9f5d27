-- +goose Up

-- When people work, and where.
ALTER TABLE person
    -- Of each skill; none: all are 2.
    ADD COLUMN skill_levels integer[] NOT NULL DEFAULT '{}',
    ADD COLUMN working_days jsonb     NOT NULL DEFAULT '[]',
    ADD COLUMN days_off     jsonb     NOT NULL DEFAULT '[]',
    -- Words of stations; none: any.
    ADD COLUMN stations     text[]    NOT NULL DEFAULT '{}',
    -- Both days included; NULL: since ever, for good.
    ADD COLUMN active_from  date,
    ADD COLUMN active_to    date,
    -- What an etag is made of; version counts events, among them clocks that are at no piece.
    ADD COLUMN revision     bigint    NOT NULL DEFAULT 1 CHECK (revision > 0),
    ADD CONSTRAINT person_active_in_order CHECK (active_from <= active_to),
    ADD CONSTRAINT person_levels_are_of_skills CHECK (skill_levels = '{}' OR cardinality(skill_levels) = cardinality(skills));
UPDATE person SET revision = version;

ALTER TABLE step
    ADD COLUMN skill_level integer NOT NULL DEFAULT 0 CHECK (skill_level BETWEEN 0 AND 3),
    ADD COLUMN station     text    NOT NULL DEFAULT '';

-- Until when a piece is promised and what it is worth, in minor units; NULL: nobody said.
ALTER TABLE piece
    ADD COLUMN promised_at timestamptz,
    ADD COLUMN value       bigint CHECK (value >= 0);
CREATE INDEX piece_by_tag ON piece (tag, id);

-- The parts of a piece that has stages.
CREATE TABLE part (
    piece_id uuid    NOT NULL REFERENCES piece,
    id       uuid    NOT NULL,
    label    text    NOT NULL,
    count    integer NOT NULL CHECK (count > 0),
    PRIMARY KEY (piece_id, id)
);
INSERT INTO part (piece_id, id, label, count)
SELECT DISTINCT ON (piece_id, part_id) piece_id, part_id, part_label, 1 FROM stage WHERE part_id IS NOT NULL ORDER BY piece_id, part_id, position;

CREATE TABLE station (
    id           uuid    PRIMARY KEY,
    word         text    NOT NULL CONSTRAINT station_word_once UNIQUE,
    display_name text    NOT NULL,
    kind         text    NOT NULL CHECK (kind IN ('bench', 'booth', 'rack', 'outdoors')),
    capacity     integer NOT NULL CHECK (capacity > 0),
    unit         text    NOT NULL CHECK (unit IN ('pieces', 'parts')),
    open_hours   jsonb   NOT NULL, -- empty: always
    stage_kinds  text[]  NOT NULL, -- empty: any
    changeover_minutes integer NOT NULL CHECK (changeover_minutes >= 0),
    zone_id      uuid    REFERENCES zone,
    retired      boolean NOT NULL,
    version      bigint  NOT NULL CHECK (version > 0)
);

-- Work that others do.
CREATE TABLE outside_work (
    id          uuid        PRIMARY KEY,
    piece_id    uuid        NOT NULL REFERENCES piece,
    part_id     uuid, -- NULL: the whole piece
    part_label  text        NOT NULL,
    kind        text        NOT NULL,
    firm        text        NOT NULL,
    quoted      bigint      CHECK (quoted >= 0), -- NULL: nobody did
    sent_at     timestamptz NOT NULL,
    due_day     date        NOT NULL,
    stage_id    uuid        REFERENCES stage,
    state       text        NOT NULL CHECK (state IN ('out', 'back', 'called off')),
    back_at     timestamptz,
    billed      bigint      CHECK (billed >= 0),
    -- Of the stage when it came back.
    pass        integer     NOT NULL DEFAULT 1,
    CONSTRAINT outside_is_back_when_it_is CHECK ((state = 'out') = (back_at IS NULL)),
    CONSTRAINT outside_back_after_sent CHECK (back_at >= sent_at)
);
CREATE INDEX outside_work_of_piece ON outside_work (piece_id);
CREATE INDEX outside_work_out ON outside_work (due_day, id) WHERE state = 'out';

CREATE TABLE outside_chase (
    id         uuid        PRIMARY KEY,
    outside_id uuid        NOT NULL REFERENCES outside_work,
    chased_at  timestamptz NOT NULL,
    actor      text        NOT NULL,
    note       text        NOT NULL,
    due_day    date -- NULL: as before
);
CREATE INDEX outside_chase_of ON outside_chase (outside_id, chased_at, id);

-- Where a part stood from when to when: at a station, or with others. A part is nowhere twice.
CREATE TABLE placement (
    id         uuid        PRIMARY KEY,
    piece_id   uuid        NOT NULL REFERENCES piece,
    -- The nil id: a piece whose parts nobody told.
    part_id    uuid        NOT NULL,
    -- How many parts that are.
    takes      integer     NOT NULL CHECK (takes > 0),
    station_id uuid        REFERENCES station,
    outside_id uuid        REFERENCES outside_work,
    from_at    timestamptz NOT NULL,
    to_at      timestamptz,
    span       tstzrange   NOT NULL GENERATED ALWAYS AS (tstzrange(from_at, to_at)) STORED,
    CONSTRAINT placement_is_somewhere CHECK ((station_id IS NULL) <> (outside_id IS NULL)),
    CONSTRAINT placement_ends_after_start CHECK (to_at > from_at),
    CONSTRAINT placement_one_place EXCLUDE USING gist (piece_id WITH =, part_id WITH =, span WITH &&)
);
CREATE INDEX placement_of_piece ON placement (piece_id, from_at);
CREATE INDEX placement_now_at_station ON placement (station_id) WHERE to_at IS NULL;
CREATE INDEX placement_at_station ON placement USING gist (station_id, span);

-- A station never holds more than its capacity, at any instant: whoever writes a placement has
-- to hold the station first, so that racing writers see each other.
-- +goose StatementBegin
CREATE FUNCTION placement_fits() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    holds integer;
    counted text;
    most integer;
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF NEW.station_id = OLD.station_id AND NEW.piece_id = OLD.piece_id AND NEW.takes <= OLD.takes AND NEW.span <@ OLD.span THEN
            RETURN NULL; -- It only gets less: whoever leaves may, however small the station has become.
        END IF;
    END IF;
    SELECT capacity, unit INTO holds, counted FROM station WHERE id = NEW.station_id FOR NO KEY UPDATE;
    SELECT max(n) INTO most FROM (
        SELECT CASE counted WHEN 'parts' THEN sum(o.takes) ELSE count(DISTINCT o.piece_id) END AS n
        FROM (SELECT lower(p.span) AS at FROM placement p WHERE p.station_id = NEW.station_id AND p.span && NEW.span AND lower(p.span) >= NEW.from_at
              UNION SELECT NEW.from_at) AS instants
        JOIN placement o ON o.station_id = NEW.station_id AND o.span @> instants.at
        GROUP BY instants.at) AS held;
    IF most > holds THEN
        RAISE EXCEPTION 'station % would hold % and can hold %', NEW.station_id, most, holds
            USING ERRCODE = 'check_violation', CONSTRAINT = 'station_holds_no_more';
    END IF;
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER placement_fits AFTER INSERT OR UPDATE OF piece_id, station_id, from_at, to_at, takes ON placement
    FOR EACH ROW WHEN (NEW.station_id IS NOT NULL) EXECUTE FUNCTION placement_fits();

-- Nor is it made smaller than what stands there now.
-- +goose StatementBegin
CREATE FUNCTION station_fits() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    holds integer;
BEGIN
    SELECT CASE NEW.unit WHEN 'parts' THEN sum(takes) ELSE count(DISTINCT piece_id) END INTO holds
    FROM placement WHERE station_id = NEW.id AND to_at IS NULL;
    IF holds > NEW.capacity THEN
        RAISE EXCEPTION 'station % holds % and was to hold %', NEW.id, holds, NEW.capacity
            USING ERRCODE = 'check_violation', CONSTRAINT = 'station_holds_no_more';
    END IF;
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER station_fits AFTER UPDATE OF capacity, unit ON station FOR EACH ROW EXECUTE FUNCTION station_fits();

-- Stages of several pieces that are run as one.
CREATE TABLE batch (
    id           uuid        PRIMARY KEY,
    display_name text        NOT NULL,
    name_key     text        NOT NULL,
    state        text        NOT NULL CHECK (state IN ('open', 'finished', 'dissolved')),
    split        text        NOT NULL CHECK (split IN ('equal', 'area')),
    stage_kind   text        NOT NULL,
    product_id   uuid,
    product_name text        NOT NULL,
    formed_at    timestamptz NOT NULL,
    ended_at     timestamptz,
    version      bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT batch_ends_when_it_does CHECK ((state = 'open') = (ended_at IS NULL)),
    CONSTRAINT batch_ends_after_it_was_formed CHECK (ended_at >= formed_at)
);
-- People call an open batch by its name.
CREATE UNIQUE INDEX batch_open_name_once ON batch (name_key) WHERE state = 'open';

CREATE TABLE batch_stage (
    batch_id uuid    NOT NULL REFERENCES batch,
    -- An amended plan may drop what nobody began once the batch is dissolved.
    stage_id uuid    NOT NULL REFERENCES stage ON DELETE CASCADE,
    piece_id uuid    NOT NULL REFERENCES piece,
    position integer NOT NULL,
    pass     integer NOT NULL,
    weight   bigint  NOT NULL CHECK (weight > 0),
    -- When it left the batch, finished by itself or taken out; stretches and material from before
    -- keep its weight. NULL: it is in it, or was to the end.
    left_at  timestamptz,
    PRIMARY KEY (batch_id, stage_id)
);
CREATE INDEX batch_stage_of_stage ON batch_stage (stage_id);

-- What a stage has beside what it had. batch_id is the open batch that it is run in: at most one.
ALTER TABLE stage
    ADD COLUMN skill_level integer NOT NULL DEFAULT 0 CHECK (skill_level BETWEEN 0 AND 3),
    ADD COLUMN helper_ids  uuid[]  NOT NULL DEFAULT '{}',
    ADD COLUMN batch_id    uuid    REFERENCES batch;
CREATE INDEX stage_open ON stage (piece_id) WHERE finished_at IS NULL;
CREATE INDEX stage_dulled ON stage (piece_id, finished_at) WHERE kind IN ('sand', 'scuff_sand');
CREATE INDEX stage_of_person ON stage (assignee_id) WHERE finished_at IS NULL;
CREATE INDEX stage_of_helper ON stage USING gin (helper_ids) WHERE finished_at IS NULL;

-- Labour that belongs to no piece, and stretches on a batch. While such a stretch runs, all of
-- its entries but the first are held: they have no times of their own yet.
ALTER TABLE clock_entry
    ALTER COLUMN piece_id DROP NOT NULL,
    ALTER COLUMN stage_id DROP NOT NULL,
    ADD COLUMN indirect   text    NOT NULL DEFAULT '',
    ADD COLUMN batch_id   uuid    REFERENCES batch,
    -- The first entry of the stretch that this one is part of; NULL: it is all of its own.
    ADD COLUMN stretch_id uuid,
    -- Of the stretch as a whole.
    ADD COLUMN stretch_from timestamptz,
    ADD COLUMN stretch_to   timestamptz,
    ADD COLUMN held       boolean NOT NULL DEFAULT false,
    ADD COLUMN station_id uuid    REFERENCES station,
    ADD COLUMN paused     boolean NOT NULL DEFAULT false,
    -- Of one that no longer counts: who said so, when and why.
    ADD COLUMN superseded_by text NOT NULL DEFAULT '',
    ADD COLUMN superseded_at timestamptz,
    ADD COLUMN superseded_reason text NOT NULL DEFAULT '',
    ADD COLUMN device     text    NOT NULL DEFAULT '',
    ADD COLUMN skew_ms    bigint  NOT NULL DEFAULT 0,
    ADD CONSTRAINT clock_is_on_something CHECK ((indirect = '') = (stage_id IS NOT NULL) AND (stage_id IS NULL) = (piece_id IS NULL)),
    ADD CONSTRAINT clock_held_only_in_a_running_stretch CHECK (NOT held OR (ended_at IS NULL AND stretch_id IS NOT NULL AND stretch_id <> id)),
    DROP CONSTRAINT clock_one_pair_of_hands,
    ADD CONSTRAINT clock_one_pair_of_hands EXCLUDE USING gist (person_id WITH =, span WITH &&) WHERE (NOT superseded AND NOT held);
CREATE INDEX clock_at_station ON clock_entry (station_id, started_at DESC) WHERE station_id IS NOT NULL AND NOT superseded;
CREATE INDEX clock_by_start ON clock_entry (started_at, id);
CREATE INDEX clock_of_stretch ON clock_entry (stretch_id) WHERE stretch_id IS NOT NULL;

-- What the lead has to settle about clocks. Never deleted.
CREATE TABLE clock_review (
    id         uuid        PRIMARY KEY,
    kind       text        NOT NULL CHECK (kind IN ('forgotten', 'overlap', 'refused', 'skew')),
    person_id  uuid        NOT NULL REFERENCES person,
    -- Of a forgotten one the running entry; of a sent one those that it contradicts.
    entry_ids  uuid[]      NOT NULL,
    -- As a device sent it; NULL: none did.
    sent       jsonb,
    reason     text        NOT NULL,
    shift_end  timestamptz,
    raised_at  timestamptz NOT NULL,
    settled_at timestamptz,
    settlement text        NOT NULL DEFAULT '',
    settled_by text        NOT NULL DEFAULT '',
    settle_reason text     NOT NULL DEFAULT '',
    CONSTRAINT review_says_how_it_was_settled CHECK ((settled_at IS NULL) = (settlement = '')),
    CONSTRAINT review_is_of_something CHECK ((kind = 'forgotten') = (sent IS NULL))
);
CREATE INDEX clock_review_open ON clock_review (raised_at, id) WHERE settled_at IS NULL;
CREATE INDEX clock_review_by_time ON clock_review (raised_at, id);
-- A clock is forgotten once at a time.
CREATE UNIQUE INDEX clock_review_forgotten_once ON clock_review ((entry_ids[1])) WHERE kind = 'forgotten' AND settled_at IS NULL;

CREATE TABLE inspection (
    id           uuid        PRIMARY KEY,
    piece_id     uuid        NOT NULL REFERENCES piece,
    -- An amended plan may no longer have it.
    stage_id     uuid        NOT NULL,
    stage_title  text        NOT NULL,
    point        text        NOT NULL CHECK (point IN ('colour_match', 'film', 'adhesion', 'hardware', 'overall')),
    pass         integer     NOT NULL,
    inspector_id uuid        NOT NULL REFERENCES person,
    passed       boolean     NOT NULL,
    back_to      uuid,
    back_to_title text       NOT NULL,
    note         text        NOT NULL,
    inspected_at timestamptz NOT NULL,
    actor        text        NOT NULL,
    -- Of what was looked at, or has to be done again: whose work it was, with what, in what air.
    judged_stage uuid        NOT NULL,
    judged_kind  text        NOT NULL,
    judged_pass  integer     NOT NULL,
    product_id   uuid,
    product_name text        NOT NULL,
    worker_ids   uuid[]      NOT NULL,
    celsius      double precision,
    humidity     double precision,
    CONSTRAINT inspection_fails_back_to_something CHECK (passed = (back_to IS NULL))
);
CREATE INDEX inspection_by_time ON inspection (inspected_at DESC, id DESC);
CREATE INDEX inspection_of_piece ON inspection (piece_id, inspected_at DESC, id DESC);

CREATE TABLE defect (
    inspection_id uuid    NOT NULL REFERENCES inspection,
    nth           integer NOT NULL,
    kind          text    NOT NULL,
    part_id       uuid,
    part_label    text    NOT NULL,
    photo         text    NOT NULL,
    note          text    NOT NULL,
    PRIMARY KEY (inspection_id, nth)
);

-- What a failed inspection opened again, and the pass that began: what it costs is the work in it.
CREATE TABLE reopened (
    inspection_id uuid    NOT NULL REFERENCES inspection,
    stage_id      uuid    NOT NULL REFERENCES stage,
    pass          integer NOT NULL CHECK (pass > 1),
    PRIMARY KEY (inspection_id, stage_id)
);

-- Clock entries with what people call what they are on, and what else is kept of them elsewhere.
CREATE VIEW entry AS
SELECT c.id, c.person_id, w.display_name, c.piece_id, c.stage_id, coalesce(s.kind, '') AS kind, coalesce(s.key, '') AS key, coalesce(s.part_label, '') AS part_label,
       c.pass, c.started_at, c.ended_at, c.corrects, n.id AS replaced_by, c.superseded, c.actor, c.reason,
       coalesce(p.tag, 0)::integer AS piece_tag, c.indirect, c.batch_id, c.stretch_id, c.stretch_from, c.stretch_to, c.held, c.station_id,
       coalesce(t.word, '') AS station, c.paused, c.device, c.skew_ms, coalesce(bs.weight, 1) AS weight,
       c.superseded_by, c.superseded_at, c.superseded_reason, fr.id AS forgotten
FROM clock_entry c JOIN person w ON w.id = c.person_id LEFT JOIN stage s ON s.id = c.stage_id LEFT JOIN piece p ON p.id = c.piece_id
LEFT JOIN station t ON t.id = c.station_id LEFT JOIN batch_stage bs ON bs.batch_id = c.batch_id AND bs.stage_id = c.stage_id
LEFT JOIN clock_entry n ON n.corrects = c.id
LEFT JOIN clock_review fr ON fr.kind = 'forgotten' AND fr.entry_ids[1] = c.id AND fr.settled_at IS NULL;

-- Reviews with who they are of.
CREATE VIEW review AS
SELECT r.id, r.kind, r.person_id, w.display_name, r.entry_ids, r.sent, r.reason, r.shift_end, r.raised_at, r.settled_at, r.settlement, r.settled_by, r.settle_reason
FROM clock_review r JOIN person w ON w.id = r.person_id;
