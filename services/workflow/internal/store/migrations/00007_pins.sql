-- +goose Up

-- What the floor's plan keeps of a stage in one of its passes: who does it, from when on, or both.
CREATE TABLE stage_pin (
    stage_id  uuid        PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    pass      integer     NOT NULL CHECK (pass > 0),
    person_id uuid        REFERENCES person,
    start_at  timestamptz,
    actor     text        NOT NULL,
    pinned_at timestamptz NOT NULL,
    CONSTRAINT stage_pin_pins_something CHECK (person_id IS NOT NULL OR start_at IS NOT NULL)
);
