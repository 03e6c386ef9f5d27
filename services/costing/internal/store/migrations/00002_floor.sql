-- +goose Up

-- Labour that belongs to no piece: cleaning, training …
ALTER TABLE stretch
    ALTER COLUMN piece_id DROP NOT NULL,
    ALTER COLUMN stage_id DROP NOT NULL,
    ADD COLUMN indirect text NOT NULL DEFAULT '',
    ADD CONSTRAINT stretch_is_on_something CHECK ((indirect = '') = (piece_id IS NOT NULL) AND (stage_id IS NULL OR piece_id IS NOT NULL));

-- What others billed for their work on a piece.
ALTER TABLE posting
    DROP CONSTRAINT posting_bucket_check,
    ADD CONSTRAINT posting_bucket_check CHECK (bucket IN ('', 'acquisition', 'labour', 'material', 'outside', 'rework', 'fees', 'revenue', 'tax'));
ALTER TABLE piece ADD COLUMN outside bigint NOT NULL DEFAULT 0;

-- The clocks that run. One that ran already when this table was made is here after a rebuild.
CREATE TABLE clock (
    entry_id    uuid        PRIMARY KEY,
    piece_id    uuid, -- null: at none
    person_id   uuid        NOT NULL,
    person_name text        NOT NULL,
    started_at  timestamptz NOT NULL
);
CREATE INDEX clock_of_piece ON clock (piece_id);

-- Work of others that is out; what is back is here no more.
CREATE TABLE outside_work (
    outside_work_id uuid   PRIMARY KEY,
    piece_id        uuid   NOT NULL,
    kind            text   NOT NULL,
    firm            text   NOT NULL,
    quoted          bigint -- null: they named no price
);
CREATE INDEX outside_work_of_piece ON outside_work (piece_id);

-- What of the clocks waits for the lead: entries that were set aside, and clocks that were forgotten.
CREATE TABLE review (
    review_id   uuid        PRIMARY KEY,
    person_id   uuid        NOT NULL,
    person_name text        NOT NULL,
    since       timestamptz NOT NULL
);

-- Weeks whose payroll was closed, each by its Monday. Costing's own record, as pay rates are: a
-- rebuild keeps it.
CREATE TABLE payroll_lock (
    week      date        PRIMARY KEY CONSTRAINT payroll_week_begins_on_monday CHECK (extract(isodow FROM week) = 1),
    locked_at timestamptz NOT NULL,
    actor     text        NOT NULL
);

-- What a locked week came to, and always will.
CREATE TABLE payroll_line (
    week        date   NOT NULL REFERENCES payroll_lock,
    person_id   uuid   NOT NULL,
    person_name text   NOT NULL,
    labour_ms   bigint NOT NULL,
    rework_ms   bigint NOT NULL,
    indirect_ms bigint NOT NULL,
    late_ms     bigint NOT NULL,
    pay         bigint NOT NULL,
    PRIMARY KEY (week, person_id)
);
