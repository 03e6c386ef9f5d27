-- +goose Up

-- What workflow, intake and sales tell of a piece, as far as what it needs follows from it. These
-- tables are computed from their events, and are emptied and filled again when one of them came
-- back from a backup; so they refer to nothing.
CREATE TABLE need_piece (
    piece_id    uuid    PRIMARY KEY,
    -- When its work was laid out first; null: it was not yet.
    planned_at  timestamptz,
    promised_at timestamptz,
    -- It was given up.
    stopped     boolean NOT NULL,
    -- When its last sale was written down; null: it was not sold.
    sold_at     timestamptz,
    -- Each with what it comes after, how long it takes and what it takes of which product.
    stages      jsonb   NOT NULL
);

-- What a stage takes of a product, in one pass.
CREATE TABLE need (
    stage_id    uuid        NOT NULL,
    product_id  uuid        NOT NULL,
    pass        integer     NOT NULL CHECK (pass > 0),
    piece_id    uuid        NOT NULL,
    stage_title text        NOT NULL,
    stage_kind  text        NOT NULL,
    -- As the data sheet says, when the work was planned; empty: there was none.
    method      text        NOT NULL,
    unit        text        NOT NULL,
    -- By the data sheet; zero: nobody knows how much.
    planned     numeric     NOT NULL CHECK (planned >= 0),
    -- Planned, by what the shop really takes for it.
    quantity    numeric     NOT NULL CHECK (quantity >= 0),
    -- The soonest it could be wanted, but for what is not begun yet: from any later time that
    -- takes so many seconds more.
    wanted_at   timestamptz NOT NULL,
    seconds_to  bigint      NOT NULL CHECK (seconds_to >= 0),
    -- Until when it must begin for what was promised; null: nothing was.
    latest_at   timestamptz,
    state       text        NOT NULL CHECK (state IN ('open', 'done', 'dropped')),
    noted_at    timestamptz NOT NULL,
    done_at     timestamptz,
    PRIMARY KEY (stage_id, product_id, pass),
    CONSTRAINT need_done_has_a_time CHECK ((state = 'done') = (done_at IS NOT NULL))
);
CREATE INDEX need_of_piece ON need (piece_id);
CREATE INDEX need_by_wanted ON need (wanted_at, stage_id, product_id, pass);
CREATE INDEX need_open ON need (product_id) WHERE state = 'open';
CREATE INDEX need_done ON need (product_id, done_at, stage_id, pass) WHERE state = 'done';

-- What the shop takes of a product for each unit that its data sheet plans, as learned from the
-- stages that were finished.
CREATE TABLE usage_factor (
    product_id uuid    NOT NULL,
    method     text    NOT NULL,
    factor     numeric NOT NULL CHECK (factor > 0),
    PRIMARY KEY (product_id, method)
);

-- What was written down of stages since it was last learned from: much of it is after the stage was
-- finished.
CREATE TABLE usage_noted (
    stage_id   uuid    NOT NULL,
    product_id uuid    NOT NULL,
    pass       integer NOT NULL
);
-- +goose StatementBegin
CREATE FUNCTION entry_is_usage() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO usage_noted (stage_id, product_id, pass) VALUES (NEW.stage_id, NEW.product_id, NEW.pass);
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER entry_is_usage AFTER INSERT ON entry FOR EACH ROW WHEN (NEW.stage_id IS NOT NULL) EXECUTE FUNCTION entry_is_usage();

-- What went to a stage is asked for with each of its needs, and what came back with each issue.
CREATE INDEX entry_of_stage ON entry (stage_id, product_id, pass) WHERE stage_id IS NOT NULL;
CREATE INDEX entry_came_back ON entry (of_id) INCLUDE (quantity) WHERE kind = 'came back';
