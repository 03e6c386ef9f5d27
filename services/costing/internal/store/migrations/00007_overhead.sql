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

-- Months whose books were closed, each by its first day, and what the close has settled.
CREATE TABLE month_close (
    month         date        PRIMARY KEY CONSTRAINT month_begins_on_its_first_day CHECK (extract(day FROM month) = 1),
    id            uuid        NOT NULL UNIQUE, -- of the close, as the ledger's lines name it
    ends_at       timestamptz NOT NULL,
    settlement    text        NOT NULL CHECK (settlement IN ('cost_of_goods_sold', 'prorated')),
    with_indirect boolean     NOT NULL,
    applied       bigint      NOT NULL,
    actual        bigint      NOT NULL,
    indirect      bigint      NOT NULL,
    late          bigint      NOT NULL,
    actor         text        NOT NULL,
    closed_at     timestamptz NOT NULL
);

-- What of the difference each piece was given.
CREATE TABLE month_share (
    month    date    NOT NULL REFERENCES month_close,
    piece_id uuid    NOT NULL,
    again    boolean NOT NULL,
    amount   bigint  NOT NULL,
    PRIMARY KEY (month, piece_id)
);

-- What a closed month has counted of each account, and always will.
CREATE TABLE month_balance (
    month   date   NOT NULL REFERENCES month_close,
    account text   NOT NULL,
    amount  bigint NOT NULL,
    PRIMARY KEY (month, account)
);
