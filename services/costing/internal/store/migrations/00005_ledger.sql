-- +goose Up

-- What several events together decide is posted as the difference to what was posted of it before;
-- a row says of which group it is. Rows of no group follow from their event alone.
ALTER TABLE posting
    ADD COLUMN group_kind text NOT NULL DEFAULT '',
    ADD COLUMN group_id   uuid,
    -- About work that is done again.
    ADD COLUMN again      boolean NOT NULL DEFAULT false,
    ADD CONSTRAINT posting_group_is_whole CHECK ((group_kind = '') = (group_id IS NULL)),
    DROP CONSTRAINT posting_bucket_check,
    ADD CONSTRAINT posting_bucket_check CHECK (bucket IN ('', 'acquisition', 'labour', 'premium', 'burden', 'overhead', 'material', 'outside', 'rework', 'fees', 'revenue', 'tax'));
CREATE INDEX posting_of_group ON posting (group_id) WHERE group_kind <> '';
-- Before, each cost of a piece was moved on by a transaction of its own.
UPDATE posting SET group_kind = 'place', group_id = piece_id
WHERE bucket = '' AND account IN ('work_in_process', 'cost_of_goods_sold', 'scrap_loss') AND piece_id IS NOT NULL;

ALTER TABLE piece
    ADD COLUMN premium  bigint NOT NULL DEFAULT 0,
    ADD COLUMN burden   bigint NOT NULL DEFAULT 0,
    ADD COLUMN overhead bigint NOT NULL DEFAULT 0,
    -- What it is and where it came from, as intake says; empty and null until it does.
    ADD COLUMN kind     text NOT NULL DEFAULT '',
    ADD COLUMN source   text NOT NULL DEFAULT '',
    ADD COLUMN came_at  timestamptz,
    -- Where it was last listed or sold, and when it was sold; null: it is not.
    ADD COLUMN channel  text NOT NULL DEFAULT '',
    ADD COLUMN sold_at  timestamptz,
    -- How it is to look, or the route it takes, as workflow says.
    ADD COLUMN finish   text NOT NULL DEFAULT '';

-- A piece is finished when every stage of its plan is done.
ALTER TABLE mark
    DROP CONSTRAINT mark_kind_check,
    ADD CONSTRAINT mark_kind_check CHECK (kind IN ('finished', 'reopened', 'sold', 'returned', 'scrapped'));

-- The plans of the pieces, stage by stage.
CREATE TABLE stage (
    stage_id   uuid    PRIMARY KEY,
    piece_id   uuid    NOT NULL,
    kind       text    NOT NULL,
    key        text    NOT NULL,
    part_label text    NOT NULL,
    planned_ms bigint  NOT NULL, -- of hands; 0: nobody said
    state      text    NOT NULL CHECK (state IN ('open', 'done', 'dropped')),
    sent_back  integer NOT NULL
);
CREATE INDEX stage_of_piece ON stage (piece_id);

-- By which account rules, and by which of the program's own, the books were made. When they are
-- others now, the books are made anew.
CREATE TABLE made_by (
    only_one boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    rules    text NOT NULL
);
