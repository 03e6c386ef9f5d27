-- +goose Up

-- What somebody saw of a part before work on it, as it was said last; what was said before is in the log of events.
CREATE TABLE part_assessment (
    part_id     uuid        PRIMARY KEY REFERENCES part,
    material    text        NOT NULL,
    species     text        NOT NULL,
    -- As it was measured; zero where nobody measured it.
    veneer      numeric     NOT NULL CHECK (veneer >= 0),
    veneer_unit text        NOT NULL,
    old_finish  text        NOT NULL CHECK (old_finish <> ''),
    waxed       boolean     NOT NULL,
    old_stain   boolean     NOT NULL,
    painted_in  integer     NOT NULL CHECK (painted_in >= 0),
    decade      boolean     NOT NULL,
    condition   text        NOT NULL,
    defects     jsonb       NOT NULL,
    note        text        NOT NULL,
    assessed_by text        NOT NULL,
    assessed_at timestamptz NOT NULL,
    version     bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT part_assessment_veneer_of_veneer CHECK (veneer = 0 OR material = 'veneer'),
    CONSTRAINT part_assessment_decade CHECK (NOT decade OR painted_in % 10 = 0)
);
