-- +goose Up

-- What an hour of a person costs, from a day on. Costing's own record: a rebuild keeps it.
CREATE TABLE pay_rate (
    id            uuid        PRIMARY KEY,
    person_id     uuid        NOT NULL,
    effective_day date        NOT NULL,
    effective_at  timestamptz NOT NULL,
    per_hour      bigint      NOT NULL CHECK (per_hour >= 0),
    actor         text        NOT NULL,
    recorded_at   timestamptz NOT NULL
);
CREATE INDEX pay_rate_of_person ON pay_rate (person_id, recorded_at, id);

-- The ledger: the lines of transactions, each adding up to zero. Rows are only added.
CREATE TABLE posting (
    tx_id       uuid        NOT NULL,
    line        smallint    NOT NULL,
    event_id    uuid        NOT NULL,
    account     text        NOT NULL CHECK (account <> ''),
    bucket      text        NOT NULL CHECK (bucket IN ('', 'acquisition', 'labour', 'material', 'rework', 'fees', 'revenue', 'tax')),
    piece_id    uuid,
    -- Of labour: whose, and on which stage.
    person_id   uuid,
    stage_id    uuid,
    stage_kind  text        NOT NULL,
    amount      bigint      NOT NULL,
    occurred_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL,
    PRIMARY KEY (tx_id, line)
);
CREATE INDEX posting_of_piece ON posting (piece_id, account);

-- Labour added to a piece, or taken away from it (sign -1), by an event.
CREATE TABLE stretch (
    event_id    uuid        NOT NULL,
    sign        smallint    NOT NULL CHECK (sign IN (1, -1)),
    entry_id    uuid        NOT NULL,
    piece_id    uuid        NOT NULL,
    person_id   uuid        NOT NULL,
    person_name text        NOT NULL,
    stage_id    uuid        NOT NULL,
    stage_kind  text        NOT NULL,
    -- What people call the stage; empty in events from before they told it.
    stage_key   text        NOT NULL,
    part_label  text        NOT NULL,
    rework      boolean     NOT NULL,
    started_at  timestamptz NOT NULL,
    ended_at    timestamptz NOT NULL,
    occurred_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL,
    PRIMARY KEY (event_id, sign)
);
CREATE INDEX stretch_of_person ON stretch (person_id, ended_at);
CREATE INDEX stretch_of_piece ON stretch (piece_id);

-- Sales, returns and scraps: what moves a piece's cost on.
CREATE TABLE mark (
    event_id    uuid        PRIMARY KEY,
    piece_id    uuid        NOT NULL,
    kind        text        NOT NULL CHECK (kind IN ('sold', 'returned', 'scrapped')),
    occurred_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL
);
CREATE INDEX mark_of_piece ON mark (piece_id);

-- What people are called now; version is that of the event that said so.
CREATE TABLE person (
    person_id uuid   PRIMARY KEY,
    name      text   NOT NULL,
    version   bigint NOT NULL
);

-- The cost sheet of each piece: sums of the ledger, kept up with it.
CREATE TABLE piece (
    piece_id    uuid        PRIMARY KEY,
    tag         integer     NOT NULL,
    title       text        NOT NULL,
    commission  boolean     NOT NULL,
    -- Empty until sales says something.
    sales_state text        NOT NULL CHECK (sales_state IN ('', 'not_listed', 'listed', 'sold')),
    scrapped    boolean     NOT NULL,
    acquisition bigint      NOT NULL,
    labour      bigint      NOT NULL,
    material    bigint      NOT NULL,
    rework      bigint      NOT NULL,
    fees        bigint      NOT NULL,
    revenue     bigint      NOT NULL,
    tax         bigint      NOT NULL,
    labour_ms   bigint      NOT NULL,
    rework_ms   bigint      NOT NULL,
    -- How many people are on the clock at it. Each clock adds and takes away one, so no
    -- order of the two is forbidden.
    running     integer     NOT NULL,
    revision    bigint      NOT NULL,
    updated_at  timestamptz NOT NULL
) WITH (fillfactor = 80, autovacuum_vacuum_scale_factor = 0.05);
CREATE INDEX piece_by_tag ON piece (tag, piece_id);
