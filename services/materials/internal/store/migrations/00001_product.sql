-- +goose Up

-- Amounts are in the product's unit, money is in minor units.
CREATE TABLE product (
    id               uuid      PRIMARY KEY,
    display_name     text      NOT NULL CHECK (display_name <> ''),
    -- Alike for names that people take for the same.
    name_key         text      NOT NULL,
    unit             text      NOT NULL CHECK (unit IN ('L', 'g', 'm', 'each')),
    -- The sizes it is sold in: a label and the content at the same place.
    package_labels   text[]    NOT NULL,
    package_contents numeric[] NOT NULL CHECK (0 < ALL (package_contents)),
    -- Below it the product is low; zero: never.
    threshold        numeric   NOT NULL CHECK (threshold >= 0),
    on_hand          numeric   NOT NULL,
    value            bigint    NOT NULL CHECK (value >= 0),
    low              boolean   NOT NULL,
    -- Counts its facts; what went to pieces is among theirs.
    version          bigint    NOT NULL CHECK (version > 0),
    CONSTRAINT product_never_below_zero CHECK (on_hand >= 0),
    CONSTRAINT product_nothing_is_worth_nothing CHECK (on_hand > 0 OR value = 0),
    CONSTRAINT product_low_is_below_threshold CHECK (low = (on_hand < threshold)),
    CONSTRAINT product_package_has_content CHECK (cardinality(package_labels) = cardinality(package_contents))
);
CREATE UNIQUE INDEX product_name_once ON product (name_key);

CREATE TABLE lot (
    id            uuid        PRIMARY KEY,
    product_id    uuid        NOT NULL REFERENCES product,
    quantity      numeric     NOT NULL CHECK (quantity > 0),
    quantity_left numeric     NOT NULL CHECK (quantity_left <= quantity),
    cost          bigint      NOT NULL CHECK (cost >= 0),
    cost_left     bigint      NOT NULL CHECK (cost_left BETWEEN 0 AND cost),
    received_at   timestamptz NOT NULL,
    supplier      text        NOT NULL,
    CONSTRAINT lot_never_below_zero CHECK (quantity_left >= 0),
    CONSTRAINT lot_nothing_is_worth_nothing CHECK (quantity_left > 0 OR cost_left = 0)
);
CREATE INDEX lot_first_in ON lot (product_id, received_at, id);
-- What is still there is read with every issue; used-up lots only grow in number.
CREATE INDEX lot_first_out ON lot (product_id, received_at, id) WHERE quantity_left > 0;

-- A piece that got material. Its lock puts in order what goes to it and what is taken
-- back; it is taken after the product's.
CREATE TABLE piece (
    id      uuid   PRIMARY KEY,
    -- Zero only inside the transaction that makes the row.
    version bigint NOT NULL CHECK (version >= 0)
);

-- Material that went to a stage; how much, from where and at what cost is in its
-- movements.
CREATE TABLE issue (
    id         uuid        PRIMARY KEY,
    product_id uuid        NOT NULL REFERENCES product,
    piece_id   uuid        NOT NULL REFERENCES piece,
    stage_id   uuid        NOT NULL,
    stage_kind text        NOT NULL,
    pass       integer     NOT NULL CHECK (pass > 0),
    actor      text        NOT NULL,
    issued_at  timestamptz NOT NULL
);
CREATE INDEX issue_newest ON issue (issued_at, id);
CREATE INDEX issue_of_product ON issue (product_id, issued_at, id);
CREATE INDEX issue_of_piece ON issue (piece_id, issued_at, id);

-- Issues that no longer count.
CREATE TABLE take_back (
    issue_id      uuid        CONSTRAINT take_back_once PRIMARY KEY REFERENCES issue,
    reason        text        NOT NULL CHECK (reason <> ''),
    actor         text        NOT NULL,
    taken_back_at timestamptz NOT NULL
);

-- Everything that ever came or went, one row for each lot it touched. What is on hand is
-- the sum of the quantities, and its value the sum of the costs. Taking an issue back is
-- one more row for each of its rows, the other way round.
CREATE TABLE movement (
    id         bigint      GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    product_id uuid        NOT NULL REFERENCES product,
    lot_id     uuid        NOT NULL REFERENCES lot,
    kind       text        NOT NULL CHECK (kind IN ('receive', 'issue', 'take_back')),
    quantity   numeric     NOT NULL,
    cost       bigint      NOT NULL,
    issue_id   uuid        REFERENCES issue,
    actor      text        NOT NULL,
    at         timestamptz NOT NULL,
    CONSTRAINT movement_sign CHECK (CASE kind WHEN 'issue' THEN quantity < 0 AND cost <= 0 ELSE quantity > 0 AND cost >= 0 END),
    CONSTRAINT movement_of_an_issue CHECK ((kind = 'receive') = (issue_id IS NULL))
);
-- An issue draws from a lot once, and what it drew goes back once.
CREATE UNIQUE INDEX movement_once ON movement (issue_id, lot_id, kind) WHERE issue_id IS NOT NULL;

-- +goose StatementBegin
CREATE FUNCTION movement_stands() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'what came and went is never changed; a correction is one more row'
        USING ERRCODE = 'integrity_constraint_violation', CONSTRAINT = 'movement_stands';
END $$;
-- +goose StatementEnd

CREATE TRIGGER movement_stands BEFORE UPDATE OR DELETE ON movement
FOR EACH ROW EXECUTE FUNCTION movement_stands();
CREATE TRIGGER movement_stands BEFORE UPDATE OR DELETE ON issue
FOR EACH ROW EXECUTE FUNCTION movement_stands();
CREATE TRIGGER movement_stands BEFORE UPDATE OR DELETE ON take_back
FOR EACH ROW EXECUTE FUNCTION movement_stands();
