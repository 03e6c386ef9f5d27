-- +goose Up

-- When less is asked for a piece: its last plan.
CREATE TABLE markdown_plan (
    piece_id    uuid        PRIMARY KEY REFERENCES listing,
    state       text        NOT NULL CHECK (state IN ('running', 'done', 'dropped', 'ended')),
    -- Zero: nobody said.
    least_price bigint      NOT NULL CHECK (least_price >= 0),
    from_advice boolean     NOT NULL,
    set_at      timestamptz NOT NULL
);

CREATE TABLE markdown_step (
    piece_id     uuid    NOT NULL REFERENCES markdown_plan,
    -- Of the shop's calendar.
    on_day       date    NOT NULL,
    asking_price bigint  NOT NULL CHECK (asking_price > 0),
    state        text    NOT NULL CHECK (state IN ('planned', 'taken', 'not_lower', 'passed_over', 'ended')),
    done_at      timestamptz,
    PRIMARY KEY (piece_id, on_day),
    CONSTRAINT markdown_step_done CHECK ((state IN ('planned', 'ended')) = (done_at IS NULL))
);

-- Only steps of plans that run are planned, so that it does not grow with the plans that are over.
CREATE INDEX markdown_step_planned ON markdown_step (on_day) WHERE state = 'planned';
