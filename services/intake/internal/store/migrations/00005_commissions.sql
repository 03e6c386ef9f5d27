-- +goose Up

-- The highest numbers given so far; a row's lock lets one at a time have the next.
CREATE TABLE record_counter (
    what text    PRIMARY KEY CHECK (what IN ('client', 'commission')),
    last integer NOT NULL
);
INSERT INTO record_counter (what, last) VALUES ('client', 0), ('commission', 0);

-- Somebody whose pieces are refinished.
CREATE TABLE client (
    id            uuid        PRIMARY KEY,
    number        integer     NOT NULL CHECK (number > 0),
    display_name  text        NOT NULL,
    phone         text        NOT NULL,
    email         text        NOT NULL,
    address       text[]      NOT NULL,
    -- NULL: they pay tax.
    exempt_reason text,
    exempt_number text        NOT NULL,
    retired       boolean     NOT NULL,
    added_at      timestamptz NOT NULL,
    version       bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT client_number_once UNIQUE (number),
    CONSTRAINT client_exempt_whole CHECK (exempt_number = '' OR exempt_reason IS NOT NULL)
);

-- Whose a piece is, where the shop keeps them; NULL: it is bought, or only the name is known.
ALTER TABLE piece
    ADD COLUMN client_id uuid REFERENCES client,
    ADD CONSTRAINT piece_of_client_is_theirs CHECK (client_id IS NULL OR client IS NOT NULL);

-- What a client orders.
CREATE TABLE commission (
    id               uuid        PRIMARY KEY,
    number           integer     NOT NULL CHECK (number > 0),
    client_id        uuid        NOT NULL REFERENCES client,
    piece_id         uuid        REFERENCES piece,
    description      text        NOT NULL,
    state            text        NOT NULL CHECK (state IN ('estimated', 'approved', 'declined', 'cancelled')),
    -- 0: none was.
    approved_version integer     NOT NULL CHECK (approved_version >= 0),
    settlement       jsonb,
    begun_at         timestamptz NOT NULL,
    version          bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT commission_number_once UNIQUE (number),
    CONSTRAINT commission_approved_whole CHECK (state = 'cancelled' OR (state = 'approved') = (approved_version > 0)),
    CONSTRAINT commission_settled CHECK ((settlement IS NOT NULL) = (state = 'cancelled'))
);
-- Of one piece one is open.
CREATE UNIQUE INDEX commission_of_piece_once ON commission (piece_id) WHERE state <> 'cancelled';
CREATE INDEX commission_by_client ON commission (client_id, number);

-- A version of an estimate; only the answer is written later.
CREATE TABLE estimate (
    commission_id uuid    NOT NULL REFERENCES commission,
    version       integer NOT NULL CHECK (version > 0),
    body          jsonb   NOT NULL,
    answer        jsonb,
    CONSTRAINT estimate_once PRIMARY KEY (commission_id, version)
);

-- What turned up after the approval.
CREATE TABLE change_order (
    commission_id uuid    NOT NULL REFERENCES commission,
    number        integer NOT NULL CHECK (number > 0),
    state         text    NOT NULL CHECK (state IN ('open', 'approved', 'declined')),
    body          jsonb   NOT NULL,
    answer        jsonb,
    CONSTRAINT change_order_once PRIMARY KEY (commission_id, number),
    CONSTRAINT change_order_answered CHECK ((answer IS NOT NULL) = (state <> 'open'))
);

-- What holds of estimates that say nothing else; percents are exact. Version 0: the owner said nothing yet.
CREATE TABLE commission_terms (
    only_one       boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    rate           bigint  NOT NULL CHECK (rate >= 0),
    markup         numeric NOT NULL CHECK (markup BETWEEN 0 AND 1000),
    tax            numeric NOT NULL CHECK (tax BETWEEN 0 AND 100),
    deposit        numeric NOT NULL CHECK (deposit BETWEEN 0 AND 100),
    valid_days     integer NOT NULL CHECK (valid_days > 0),
    cancel_rule    text    NOT NULL CHECK (cancel_rule IN ('nothing', 'work_done', 'work_done_and_percent')),
    cancel_percent numeric NOT NULL CHECK (cancel_percent BETWEEN 0 AND 100),
    labour_untaxed boolean NOT NULL,
    version        bigint  NOT NULL CHECK (version >= 0)
);
INSERT INTO commission_terms (rate, markup, tax, deposit, valid_days, cancel_rule, cancel_percent, labour_untaxed, version)
VALUES (0, 0, 0, 0, 30, 'work_done', 0, false, 0);
