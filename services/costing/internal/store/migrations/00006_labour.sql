-- +goose Up

-- What the shop pays by, from a workweek on: hours after which there is overtime and what it earns,
-- how long a pause is paid, to which mark of the clock work is rounded. Costing's own record, as pay
-- rates are: a rebuild keeps it.
CREATE TABLE pay_rule (
    id               uuid        PRIMARY KEY,
    week             date        NOT NULL CONSTRAINT pay_rule_begins_on_monday CHECK (extract(isodow FROM week) = 1),
    weekly_after_ms  bigint      NOT NULL CHECK (weekly_after_ms >= 0), -- 0: no overtime by the week
    daily_after_ms   bigint      NOT NULL CHECK (daily_after_ms >= 0),  -- 0: none by the day
    overtime_percent bigint      NOT NULL CHECK (overtime_percent >= 0),
    paid_break_ms    bigint      NOT NULL CHECK (paid_break_ms >= 0),
    round_to_ms      bigint      NOT NULL CHECK (round_to_ms >= 0),
    to_overhead      boolean     NOT NULL, -- the premium; else it is of the pieces
    actor            text        NOT NULL,
    recorded_at      timestamptz NOT NULL
);

-- What the employer pays on top of wages, from a day on. Likewise kept.
CREATE TABLE burden (
    id            uuid        PRIMARY KEY,
    person_id     uuid, -- null: everybody who has none of their own
    effective_day date        NOT NULL,
    effective_at  timestamptz NOT NULL,
    share         bigint      NOT NULL CHECK (share >= 0), -- of pay, in millionths
    ends          boolean     NOT NULL DEFAULT false,      -- the person has none of their own any more
    actor         text        NOT NULL,
    recorded_at   timestamptz NOT NULL,
    CONSTRAINT burden_that_ends_is_somebodys CHECK (NOT ends OR person_id IS NOT NULL AND share = 0)
);
CREATE INDEX burden_of_person ON burden (person_id, recorded_at, id);

-- What was booked before this column was made is of no pause until a rebuild.
ALTER TABLE stretch ADD COLUMN paused boolean NOT NULL DEFAULT false;

-- Weeks that were locked before had none of these, but for what was late: its pay was not told apart.
ALTER TABLE payroll_line
    ADD COLUMN breaks_ms    bigint NOT NULL DEFAULT 0,
    ADD COLUMN rounding_ms  bigint NOT NULL DEFAULT 0,
    ADD COLUMN overtime_ms  bigint NOT NULL DEFAULT 0,
    ADD COLUMN break_pay    bigint NOT NULL DEFAULT 0,
    ADD COLUMN rounding_pay bigint NOT NULL DEFAULT 0,
    ADD COLUMN premium      bigint NOT NULL DEFAULT 0,
    ADD COLUMN late_pay     bigint NOT NULL DEFAULT 0,
    ADD COLUMN burden       bigint NOT NULL DEFAULT 0,
    ADD COLUMN regular_pay  bigint NOT NULL DEFAULT 0,
    ADD COLUMN regular_ms   bigint NOT NULL DEFAULT 0;
