-- +goose Up

-- What an hour on a piece carries of the shop's overhead, from a day on. Costing's own record, as all
-- tables here are: a rebuild keeps it.
CREATE TABLE overhead_rate (
    id            uuid        PRIMARY KEY,
    department    text        NOT NULL, -- empty: whatever is of none
    stage_kinds   text[]      NOT NULL,
    basis         text        NOT NULL CHECK (basis IN ('labour_hour', 'machine_hour')),
    per_hour      bigint      NOT NULL CHECK (per_hour >= 0),
    effective_day date        NOT NULL,
    effective_at  timestamptz NOT NULL,
    actor         text        NOT NULL,
    recorded_at   timestamptz NOT NULL,
    CONSTRAINT overhead_rate_of_kinds_has_a_department CHECK (department <> '' OR stage_kinds = '{}')
);

-- Overhead that was really spent. What was wrong is taken back by a row with the opposite amount.
CREATE TABLE overhead_actual (
    id          uuid        PRIMARY KEY,
    day         date        NOT NULL,
    occurred_at timestamptz NOT NULL,
    what        text        NOT NULL CHECK (what <> ''),
    amount      bigint      NOT NULL,
    note        text        NOT NULL,
    takes_back  uuid        CONSTRAINT overhead_actual_taken_back_once UNIQUE REFERENCES overhead_actual,
    reason      text        NOT NULL,
    actor       text        NOT NULL,
    recorded_at timestamptz NOT NULL,
    CONSTRAINT overhead_actual_sign CHECK (CASE WHEN takes_back IS NULL THEN amount > 0 AND reason = '' ELSE amount < 0 AND reason <> '' END)
);

-- Closes of months, each by its month's first day, and what the close has settled.
CREATE TABLE month_close (
    id            uuid        PRIMARY KEY, -- as the ledger's lines name it
    month         date        NOT NULL CONSTRAINT month_begins_on_its_first_day CHECK (extract(day FROM month) = 1),
    since         date        NOT NULL, -- the first day that it counts; of the first close ever it may be of a month before
    ends_at       timestamptz NOT NULL,
    -- The taking back after which the month was closed again; null: it was closed for the first time.
    follows       uuid        CONSTRAINT month_closed_again_once UNIQUE,
    settlement    text        NOT NULL CHECK (settlement IN ('cost_of_goods_sold', 'prorated')),
    with_indirect boolean     NOT NULL,
    applied       bigint      NOT NULL,
    actual        bigint      NOT NULL,
    indirect      bigint      NOT NULL,
    actor         text        NOT NULL,
    closed_at     timestamptz NOT NULL,
    CONSTRAINT month_close_counts_its_month CHECK (since <= month)
);
CREATE UNIQUE INDEX month_closed_once ON month_close (month) WHERE follows IS NULL;

-- Closes that were taken back. What such a close has counted is kept, and counts no more.
CREATE TABLE month_reopen (
    id          uuid        PRIMARY KEY, -- as the ledger's lines name it that reverse the close's
    close_id    uuid        NOT NULL CONSTRAINT month_reopened_once UNIQUE REFERENCES month_close,
    reason      text        NOT NULL CHECK (reason <> ''),
    actor       text        NOT NULL,
    reopened_at timestamptz NOT NULL
);
ALTER TABLE month_close ADD CONSTRAINT month_close_follows_fkey FOREIGN KEY (follows) REFERENCES month_reopen;

-- What of the difference each piece was given.
CREATE TABLE month_share (
    close_id uuid    NOT NULL REFERENCES month_close,
    piece_id uuid    NOT NULL,
    again    boolean NOT NULL,
    amount   bigint  NOT NULL,
    PRIMARY KEY (close_id, piece_id)
);

-- What a close has counted of each account, and always will; and what of that is late, of days
-- before those that it counts.
CREATE TABLE month_balance (
    close_id uuid   NOT NULL REFERENCES month_close,
    account  text   NOT NULL,
    amount   bigint NOT NULL,
    late     bigint NOT NULL,
    PRIMARY KEY (close_id, account)
);

-- The rest of it, by day, so that no day of a closed month changes any more.
CREATE TABLE month_day (
    close_id uuid   NOT NULL REFERENCES month_close,
    day      date   NOT NULL,
    account  text   NOT NULL,
    amount   bigint NOT NULL,
    PRIMARY KEY (close_id, day, account)
);
