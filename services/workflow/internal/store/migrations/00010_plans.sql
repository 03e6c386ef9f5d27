-- +goose Up

-- Plans that were proposed, each kept for a day so that it can be published: the places of its stages.
CREATE TABLE plan_proposal (
    id      uuid        PRIMARY KEY,
    made_at timestamptz NOT NULL,
    actor   text        NOT NULL,
    after   bigint      NOT NULL, -- the publication that it began from; 0: none
    stages  jsonb       NOT NULL
);

-- Plans that were published. The last is what people know.
CREATE TABLE plan_publication (
    version      bigint      PRIMARY KEY CHECK (version > 0),
    id           uuid        NOT NULL,
    published_at timestamptz NOT NULL,
    actor        text        NOT NULL,
    last_day     date        NOT NULL
);

-- Where stages are in the last one, in the pass that they had.
CREATE TABLE plan_stage (
    stage_id   uuid        PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    pass       integer     NOT NULL CHECK (pass > 0),
    person_id  uuid        REFERENCES person,
    station_id uuid        REFERENCES station,
    start_at   timestamptz NOT NULL,
    end_at     timestamptz NOT NULL,
    CHECK (end_at >= start_at)
);
CREATE INDEX plan_stage_of_person ON plan_stage (person_id);

-- Who has a stage because a plan gave it to them, and so may lose it to the next one; written under the lock of its piece.
CREATE TABLE plan_given (
    stage_id  uuid PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    person_id uuid NOT NULL REFERENCES person
);
