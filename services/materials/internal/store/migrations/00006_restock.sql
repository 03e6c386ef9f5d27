-- +goose Up

-- How the shop buys; one row, of the usual figures until somebody chooses others.
CREATE TABLE restock_policy (
    one           boolean          PRIMARY KEY DEFAULT true CHECK (one),
    service_level double precision NOT NULL CHECK (service_level BETWEEN 0.5 AND 0.9999),
    review_days   double precision NOT NULL CHECK (review_days > 0 AND review_days <= 366),
    order_cost    bigint           NOT NULL CHECK (order_cost >= 0),
    holding_share double precision NOT NULL CHECK (holding_share > 0 AND holding_share <= 10),
    version       bigint           NOT NULL CHECK (version > 0)
);

CREATE TABLE purchase_order (
    id          uuid        PRIMARY KEY,
    -- Short, for people to say; one that was thought better of leaves a gap.
    number      bigint      NOT NULL GENERATED ALWAYS AS IDENTITY UNIQUE,
    supplier_id uuid        NOT NULL REFERENCES supplier,
    state       text        NOT NULL CHECK (state IN ('ordered', 'part received', 'received', 'closed', 'cancelled')),
    ordered_at  timestamptz NOT NULL,
    -- When all of it is expected.
    expected_at timestamptz NOT NULL,
    reason      text        NOT NULL,
    note        text        NOT NULL,
    actor       text        NOT NULL,
    version     bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT purchase_order_expected_after CHECK (expected_at >= ordered_at),
    CONSTRAINT purchase_order_ends_with_a_reason CHECK (state NOT IN ('closed', 'cancelled') OR reason <> '')
);
CREATE INDEX purchase_order_of_supplier ON purchase_order (supplier_id, number);
CREATE INDEX purchase_order_open ON purchase_order (number) WHERE state IN ('ordered', 'part received');

CREATE TABLE purchase_order_line (
    order_id          uuid        NOT NULL REFERENCES purchase_order,
    number            integer     NOT NULL CHECK (number > 0),
    product_id        uuid        NOT NULL REFERENCES product,
    package_label     text        NOT NULL,
    packages          integer     NOT NULL CHECK (packages > 0),
    -- Of a package, in the product's unit.
    content           numeric     NOT NULL CHECK (content > 0),
    -- Of a package.
    price             bigint      NOT NULL CHECK (price >= 0),
    received          numeric     NOT NULL CHECK (received >= 0),
    -- Null: nothing of it has come.
    first_received_at timestamptz,
    PRIMARY KEY (order_id, number),
    CONSTRAINT purchase_order_line_came_at_a_time CHECK ((received > 0) = (first_received_at IS NOT NULL))
);
CREATE INDEX purchase_order_line_of_product ON purchase_order_line (product_id);

-- What somebody should know of and do something about; it follows from what is elsewhere, and
-- refers to nothing.
CREATE TABLE alert (
    id         uuid        PRIMARY KEY,
    kind       text        NOT NULL CHECK (kind <> ''),
    key        text        NOT NULL,
    product_id uuid,
    text       text        NOT NULL CHECK (text <> ''),
    due        timestamptz,
    raised_at  timestamptz NOT NULL,
    updated_at timestamptz NOT NULL,
    closed_at  timestamptz,
    -- Of what was last told of it.
    position   bigint      NOT NULL CHECK (position > 0)
);
CREATE UNIQUE INDEX alert_once ON alert (kind, key) WHERE closed_at IS NULL;
CREATE INDEX alert_newest ON alert (raised_at, id);
CREATE INDEX alert_of_product ON alert (product_id) WHERE closed_at IS NULL;

-- All that was ever told of alerts, one after the other without a gap: whoever writes has the
-- row of alert_feed, so that positions are seen in their order.
CREATE TABLE alert_feed (
    one      boolean PRIMARY KEY DEFAULT true CHECK (one),
    position bigint  NOT NULL CHECK (position >= 0)
);
INSERT INTO alert_feed (position) VALUES (0);
CREATE TABLE alert_change (
    position bigint      PRIMARY KEY,
    alert_id uuid        NOT NULL REFERENCES alert,
    change   text        NOT NULL CHECK (change IN ('raised', 'updated', 'closed')),
    text     text        NOT NULL,
    due      timestamptz,
    at       timestamptz NOT NULL
);
