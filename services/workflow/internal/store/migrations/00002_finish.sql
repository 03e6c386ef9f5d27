-- +goose Up

-- Where the air is read, and pieces stand to dry.
CREATE TABLE zone (
    id           uuid   PRIMARY KEY,
    word         text   NOT NULL CONSTRAINT zone_word_once UNIQUE,
    display_name text   NOT NULL,
    kind         text   NOT NULL CHECK (kind IN ('bench room', 'booth', 'rack', 'outdoors')),
    -- Counts up with every reading that is new here: a dry clock that has seen fewer is
    -- computed again.
    readings     bigint NOT NULL DEFAULT 0 CHECK (readings >= 0),
    -- When readings last came late, and the first instant that they tell of: what was thought
    -- to have dried since may not have.
    late_at      timestamptz,
    late_from    timestamptz,
    version      bigint NOT NULL CHECK (version > 0)
);

CREATE TABLE reading (
    zone_id     uuid             NOT NULL REFERENCES zone,
    read_at     timestamptz      NOT NULL,
    celsius     double precision NOT NULL,
    humidity    double precision NOT NULL,
    surface     double precision,
    source      text             NOT NULL,
    actor       text             NOT NULL,
    recorded_at timestamptz      NOT NULL,
    PRIMARY KEY (zone_id, read_at)
);

-- What a stage of a finish plan has beside one of a route.
ALTER TABLE stage
    ADD COLUMN grit         text             NOT NULL DEFAULT '',
    ADD COLUMN product_id   uuid,
    ADD COLUMN product_name text             NOT NULL DEFAULT '',
    ADD COLUMN station      text             NOT NULL DEFAULT '',
    ADD COLUMN needs        text             NOT NULL DEFAULT '' CHECK (needs IN ('', 'sand', 'recoat', 'cured')),
    ADD COLUMN latest_minutes integer        NOT NULL DEFAULT 0 CHECK (latest_minutes >= 0),
    ADD COLUMN cautions     text[]           NOT NULL DEFAULT '{}',
    -- It sands, scrapes or strips what may be an old coating with lead in it.
    ADD COLUMN disturbs_old boolean          NOT NULL DEFAULT false,
    ADD COLUMN why          text             NOT NULL DEFAULT '',
    ADD COLUMN zone_id      uuid             REFERENCES zone,
    -- How its product dries and in what air it may be put on; NULL where it leaves no film.
    ADD COLUMN coating      jsonb,
    ADD COLUMN wet_film_um  double precision NOT NULL DEFAULT 0,
    ADD COLUMN area_m2      double precision NOT NULL DEFAULT 0;

CREATE TABLE finish_plan (
    piece_id    uuid        NOT NULL REFERENCES piece,
    version     integer     NOT NULL CHECK (version > 0),
    state       text        NOT NULL CHECK (state IN ('draft', 'approved', 'superseded')),
    -- Parts, products, stages, findings and overrides, as they were then.
    body        jsonb       NOT NULL,
    reason      text        NOT NULL,
    actor       text        NOT NULL,
    drafted_at  timestamptz NOT NULL,
    approved_at timestamptz,
    PRIMARY KEY (piece_id, version)
);
CREATE UNIQUE INDEX finish_plan_one_draft ON finish_plan (piece_id) WHERE state = 'draft';
CREATE UNIQUE INDEX finish_plan_one_approved ON finish_plan (piece_id) WHERE state = 'approved';

-- What dries since a stage was finished. It is also the timer of what is to be told about
-- it, so a restart forgets nothing.
CREATE TABLE dry_clock (
    stage_id    uuid             PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    -- The pass that left it wet: a stage that was sent back has begun another over it.
    pass        integer          NOT NULL DEFAULT 1,
    piece_id    uuid             NOT NULL REFERENCES piece,
    part_id     uuid,
    kind        text             NOT NULL CHECK (kind IN ('film', 'wood', 'minutes')),
    -- Of a film.
    product_id  uuid,
    laid_at     timestamptz      NOT NULL,
    film_um     double precision NOT NULL,
    minutes     integer          NOT NULL,
    needs       text             NOT NULL CHECK (needs IN ('sand', 'recoat', 'cured')),
    -- Another coat is to come over it.
    recoats     boolean          NOT NULL DEFAULT false,
    -- In which zone from when on, oldest first; the last one is where it stands. The nil id
    -- is: nobody said.
    zone_ids    uuid[]           NOT NULL,
    zone_from   timestamptz[]    NOT NULL,
    zone_id     uuid             REFERENCES zone,
    -- How many readings of all those zones the forecast has seen, and how often what is known
    -- of its product had changed by then.
    seen        bigint           NOT NULL,
    learned     integer          NOT NULL,
    -- All milestones with their ranges, and what somebody felt of them.
    windows     jsonb            NOT NULL,
    felt        jsonb            NOT NULL,
    -- When a stage that needs it can begin; infinity: never, in this air.
    sand_at     timestamptz      NOT NULL,
    recoat_at   timestamptz      NOT NULL,
    cured_at    timestamptz      NOT NULL,
    closes_at   timestamptz,
    -- What was last said of when it will be ready and its window close, and for what it was
    -- said to be ready.
    said_at     timestamptz,
    said_closes timestamptz,
    ready_said  boolean          NOT NULL,
    said_needs  text             NOT NULL DEFAULT '',
    close_said  boolean          NOT NULL,
    -- When there is something to say next; NULL: nothing more.
    due_at      timestamptz,
    -- All has come that was to come: only late readings have it computed again.
    ended       boolean          NOT NULL,
    CONSTRAINT dry_clock_zones_have_times CHECK (cardinality(zone_ids) = cardinality(zone_from))
);
CREATE INDEX dry_clock_of_piece ON dry_clock (piece_id);
CREATE INDEX dry_clock_in_zone ON dry_clock (zone_id);
CREATE INDEX dry_clock_live ON dry_clock (piece_id) WHERE NOT ended;
CREATE INDEX dry_clock_ended ON dry_clock (laid_at) WHERE ended;

-- Clocks over which work has gone on: a later stage was begun or finished there, or the next
-- pass of their own.
CREATE VIEW overtaken AS
SELECT c.stage_id, c.piece_id
FROM dry_clock c JOIN stage s ON s.id = c.stage_id
WHERE EXISTS (
    SELECT FROM stage l
    WHERE l.piece_id = s.piece_id
      AND (l.position > s.position AND (l.part_id IS NULL OR s.part_id IS NULL OR l.part_id = s.part_id) OR l.id = s.id AND l.pass > c.pass)
      AND (l.finished_at IS NOT NULL
           OR EXISTS (SELECT FROM clock_entry e WHERE e.stage_id = l.id AND e.pass = l.pass AND NOT e.superseded)));

-- How many times longer than stated a product takes here: a log-normal belief.
CREATE TABLE drying_factor (
    product_id  uuid             PRIMARY KEY,
    log_mean    double precision NOT NULL,
    log_std_dev double precision NOT NULL,
    outcomes    integer          NOT NULL, -- coats
    lessons     integer          NOT NULL DEFAULT 0 -- how often it changed
);

CREATE TABLE drying_outcome (
    id         uuid        PRIMARY KEY,
    nth        bigint      GENERATED ALWAYS AS IDENTITY, -- in the order in which they were written down
    stage_id   uuid        NOT NULL, -- which an amended plan may no longer have
    pass       integer     NOT NULL,
    product_id uuid        NOT NULL,
    milestone  text        NOT NULL,
    not_yet_at timestamptz,
    reached_at timestamptz,
    -- Between which logarithms of the factor that of the coat lies, by all that was felt of
    -- the milestone until then.
    low        double precision NOT NULL,
    high       double precision NOT NULL,
    actor      text        NOT NULL,
    CONSTRAINT drying_outcome_says_something CHECK (not_yet_at IS NOT NULL OR reached_at IS NOT NULL)
);
CREATE INDEX drying_outcome_of_product ON drying_outcome (product_id);

-- What was measured and tried. Never changed: the last one of a kind holds.
CREATE TABLE part_test (
    id        uuid             PRIMARY KEY,
    piece_id  uuid             NOT NULL REFERENCES piece,
    part_id   uuid,
    part_label text            NOT NULL,
    kind      text             NOT NULL CHECK (kind IN ('moisture', 'spot', 'lead')),
    tested_at timestamptz      NOT NULL,
    actor     text             NOT NULL,
    -- Of moisture: percent, what the air gives wood, and whether it is near enough to it.
    percent   double precision NOT NULL DEFAULT 0,
    at_rest   double precision NOT NULL DEFAULT 0,
    dry       boolean          NOT NULL DEFAULT false,
    -- Of a spot test: the solvent and what it did. Of lead: free, found or accepted.
    solvent   text             NOT NULL DEFAULT '',
    result    text             NOT NULL DEFAULT '',
    -- Of lead that is accepted: by whom, under what controls.
    person_id uuid             REFERENCES person,
    controls  text             NOT NULL DEFAULT ''
);
CREATE INDEX part_test_of_piece ON part_test (piece_id, kind, tested_at DESC, id DESC);

-- Who said to have read which cautions of a stage, in which pass.
CREATE TABLE acknowledgement (
    stage_id  uuid        NOT NULL REFERENCES stage ON DELETE CASCADE,
    pass      integer     NOT NULL,
    person_id uuid        NOT NULL REFERENCES person,
    cautions  text[]      NOT NULL,
    said_at   timestamptz NOT NULL,
    PRIMARY KEY (stage_id, pass, person_id)
);

-- What stages of a piece find there: of each part and kind the last test, newest first, and
-- what dries or has dried. A time that is null there is never.
CREATE VIEW ground AS
SELECT p.id AS piece_id,
       (SELECT jsonb_agg(jsonb_build_object('part', t.part_id, 'kind', t.kind, 'result', t.result, 'percent', t.percent, 'at_rest', t.at_rest, 'dry', t.dry)
                         ORDER BY t.tested_at DESC, t.id DESC)
        FROM (SELECT DISTINCT ON (l.kind, l.part_id) l.* FROM part_test l
              WHERE l.piece_id = p.id AND l.kind IN ('moisture', 'lead') ORDER BY l.kind, l.part_id, l.tested_at DESC, l.id DESC) t) AS tests,
       (SELECT jsonb_agg(jsonb_build_object('part', d.part_id, 'film', d.kind = 'film', 'sand', CASE WHEN isfinite(d.sand_at) THEN d.sand_at END,
                                            'recoat', CASE WHEN isfinite(d.recoat_at) THEN d.recoat_at END, 'cured', CASE WHEN isfinite(d.cured_at) THEN d.cured_at END))
        FROM dry_clock d WHERE d.piece_id = p.id) AS wet
FROM piece p;

-- How long stages of finish plans took here against what is usual by their area: sums of
-- the logarithm of the ratio.
CREATE TABLE labour_history (
    kind      text             NOT NULL,
    person_id uuid             NOT NULL REFERENCES person,
    n         integer          NOT NULL CHECK (n > 0),
    sum       double precision NOT NULL,
    squares   double precision NOT NULL,
    PRIMARY KEY (kind, person_id)
);

-- What was learned of a stage when it was finished, so that it can be replaced in the sums
-- of labour_history when its clock entries are corrected.
CREATE TABLE labour_observation (
    stage_id  uuid             PRIMARY KEY REFERENCES stage,
    kind      text             NOT NULL,
    person_id uuid             REFERENCES person, -- NULL: nothing was to be learned
    -- The logarithm of how many times the usual it took.
    y         double precision NOT NULL,
    CONSTRAINT labour_observation_is_somebodys CHECK (person_id IS NOT NULL OR y = 0)
);
