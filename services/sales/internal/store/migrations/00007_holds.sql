-- +goose Up

-- A listed piece that is kept for one buyer until an instant.
CREATE TABLE hold (
    id         uuid        PRIMARY KEY,
    piece_id   uuid        NOT NULL REFERENCES listing,
    state      text        NOT NULL CHECK (state IN ('open', 'released', 'lapsed', 'sold')),
    buyer      text        NOT NULL CHECK (buyer <> ''),
    -- Zero: none was agreed.
    price      bigint      NOT NULL CHECK (price >= 0),
    held_at    timestamptz NOT NULL,
    until_at   timestamptz NOT NULL,
    -- What becomes of its deposits if it ends without a sale; empty: nothing was agreed.
    lapse_rule text        NOT NULL CHECK (lapse_rule IN ('', 'given_back', 'kept')),
    ended_at   timestamptz,
    reason     text        NOT NULL DEFAULT '',
    CONSTRAINT hold_ends CHECK ((state = 'open') = (ended_at IS NULL))
);

-- Of two buyers at once one holds it.
CREATE UNIQUE INDEX hold_open_once ON hold (piece_id) WHERE state = 'open';
CREATE INDEX hold_open_until ON hold (until_at) WHERE state = 'open';
CREATE INDEX hold_of_piece ON hold (piece_id, id);

-- Money that was given before a sale.
CREATE TABLE deposit (
    id         uuid        PRIMARY KEY,
    piece_id   uuid        NOT NULL REFERENCES listing,
    -- NULL: a client's, on their own piece.
    hold_id    uuid        REFERENCES hold,
    state      text        NOT NULL CHECK (state IN ('held', 'to_return', 'used', 'returned', 'kept')),
    given_by   text        NOT NULL CHECK (given_by <> ''),
    amount     bigint      NOT NULL CHECK (amount > 0),
    method     text        NOT NULL CHECK (method IN ('cash', 'card', 'transfer', 'check', 'other')),
    taken_at   timestamptz NOT NULL,
    -- What became of it.
    used       bigint      NOT NULL DEFAULT 0 CHECK (used >= 0),
    returned   bigint      NOT NULL DEFAULT 0 CHECK (returned >= 0),
    kept       bigint      NOT NULL DEFAULT 0 CHECK (kept >= 0),
    CONSTRAINT deposit_spent_within CHECK (used + returned + kept <= amount),
    CONSTRAINT deposit_state_fits CHECK ((state IN ('held', 'to_return')) = (used + returned + kept < amount))
);

CREATE INDEX deposit_of_piece ON deposit (piece_id, id);
CREATE INDEX deposit_of_hold ON deposit (hold_id) WHERE hold_id IS NOT NULL;
CREATE INDEX deposit_owed ON deposit (state, id) WHERE state IN ('held', 'to_return');

-- What a buyer offers for a listed piece.
CREATE TABLE offer (
    id            uuid        PRIMARY KEY,
    piece_id      uuid        NOT NULL REFERENCES listing,
    state         text        NOT NULL CHECK (state IN ('open', 'countered', 'accepted', 'declined', 'withdrawn', 'passed_over')),
    buyer         text        NOT NULL CHECK (buyer <> ''),
    price         bigint      NOT NULL CHECK (price > 0),
    -- Zero: the shop named none.
    counter_price bigint      NOT NULL DEFAULT 0 CHECK (counter_price >= 0),
    channel       text        NOT NULL,
    offered_at    timestamptz NOT NULL,
    -- NULL: until somebody answers.
    until_at      timestamptz,
    note          text        NOT NULL,
    ended_at      timestamptz,
    reason        text        NOT NULL DEFAULT '',
    -- Of one that was accepted.
    hold_id       uuid        REFERENCES hold,
    CONSTRAINT offer_ends CHECK ((state IN ('open', 'countered')) = (ended_at IS NULL)),
    CONSTRAINT offer_accepted_holds CHECK ((state = 'accepted') = (hold_id IS NOT NULL)),
    CONSTRAINT offer_countered CHECK (state <> 'countered' OR counter_price > 0)
);

CREATE INDEX offer_of_piece ON offer (piece_id, id);
CREATE INDEX offer_open ON offer (piece_id) WHERE state IN ('open', 'countered');

-- What of price and tax was paid before.
ALTER TABLE sale ADD COLUMN deposit bigint NOT NULL DEFAULT 0,
    ADD CONSTRAINT sale_deposit_within CHECK (deposit BETWEEN 0 AND price + tax);
