-- +goose Up

-- Who does not want a stage in one of its passes: the plan does not give it to them. Nobody who has a stage refuses it.
CREATE TABLE stage_refusal (
    stage_id   uuid        NOT NULL REFERENCES stage ON DELETE CASCADE,
    person_id  uuid        NOT NULL REFERENCES person,
    pass       integer     NOT NULL CHECK (pass > 0),
    reason     text        NOT NULL,
    actor      text        NOT NULL,
    refused_at timestamptz NOT NULL,
    PRIMARY KEY (stage_id, person_id)
);

-- Offers of one person to another to take a stage in one of its passes, for one of theirs or for nothing. That an open
-- one has been overtaken by what became of its stages is seen when it is read; it is noted when the stage is offered anew.
CREATE TABLE stage_swap (
    id           uuid        PRIMARY KEY,
    from_id      uuid        NOT NULL REFERENCES person,
    to_id        uuid        NOT NULL REFERENCES person,
    stage_id     uuid        NOT NULL REFERENCES stage ON DELETE CASCADE,
    pass         integer     NOT NULL CHECK (pass > 0),
    for_stage_id uuid        REFERENCES stage ON DELETE CASCADE,
    for_pass     integer     NOT NULL CHECK (for_pass >= 0),
    note         text        NOT NULL,
    state        text        NOT NULL CHECK (state IN ('open', 'accepted', 'declined', 'withdrawn', 'overtaken')),
    offered_at   timestamptz NOT NULL,
    ended_at     timestamptz,
    actor        text        NOT NULL,
    CONSTRAINT swap_is_of_two CHECK (from_id <> to_id),
    CONSTRAINT swap_says_when_it_ended CHECK ((state = 'open') = (ended_at IS NULL)),
    CONSTRAINT swap_wants_a_pass CHECK ((for_stage_id IS NULL) = (for_pass = 0))
);
-- A stage is offered to one person at a time.
CREATE UNIQUE INDEX swap_open_once ON stage_swap (stage_id) WHERE state = 'open';
CREATE INDEX swap_from ON stage_swap (from_id, id);
CREATE INDEX swap_to ON stage_swap (to_id, id);
CREATE INDEX swap_wanted ON stage_swap (for_stage_id);
CREATE INDEX swap_offered ON stage_swap (stage_id);

-- Swaps with who they are of, and the pieces of their stages.
CREATE VIEW swap AS
SELECT w.id, w.from_id, f.display_name AS from_name, w.to_id, t.display_name AS to_name, w.stage_id, s.piece_id, w.pass, w.for_stage_id, o.piece_id AS for_piece_id,
       w.for_pass, w.note, w.state, w.offered_at, w.ended_at
FROM stage_swap w JOIN person f ON f.id = w.from_id JOIN person t ON t.id = w.to_id JOIN stage s ON s.id = w.stage_id LEFT JOIN stage o ON o.id = w.for_stage_id;
