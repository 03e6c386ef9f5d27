-- +goose Up

-- Workweeks under a pay rule in which entries of somebody's contradict each other, and from when on. What was booked
-- before this table was made is here after a rebuild.
CREATE TABLE tangled_week (
    person_id uuid        NOT NULL,
    week      date        NOT NULL CONSTRAINT tangled_week_begins_on_monday CHECK (extract(isodow FROM week) = 1),
    since     timestamptz NOT NULL,
    PRIMARY KEY (person_id, week)
);

-- What was planned of a stage when it was done, whatever was planned of it later; null while it is not done.
ALTER TABLE stage ADD COLUMN held_ms bigint CONSTRAINT stage_held_while_done CHECK (held_ms IS NULL OR state = 'done');
