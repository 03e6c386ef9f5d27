-- +goose Up

-- Somewhere that sales are taxed, as the owner stated it.
CREATE TABLE tax_place (
    id           uuid    PRIMARY KEY,
    -- Folded, as names are compared.
    name_key     text    NOT NULL CHECK (name_key <> ''),
    display_name text    NOT NULL,
    is_default   boolean NOT NULL,
    retired      boolean NOT NULL,
    -- Zero only inside the transaction that makes the row.
    version      bigint  NOT NULL CHECK (version >= 0),
    CONSTRAINT tax_place_named_once UNIQUE (name_key),
    CONSTRAINT tax_place_default_in_use CHECK (NOT (is_default AND retired))
);

CREATE UNIQUE INDEX tax_place_default_once ON tax_place (is_default) WHERE is_default;

-- What a place takes from a day of the shop's calendar on, until the next.
CREATE TABLE tax_rate (
    place_id       uuid    NOT NULL REFERENCES tax_place,
    from_day       date    NOT NULL,
    percent        numeric NOT NULL CHECK (percent BETWEEN 0 AND 100),
    delivery_taxed boolean NOT NULL,
    PRIMARY KEY (place_id, from_day)
);

ALTER TABLE sale
    -- By what the tax was reckoned; empty and NULL: it was said as an amount.
    ADD COLUMN tax_place text NOT NULL DEFAULT '',
    ADD COLUMN tax_percent numeric CHECK (tax_percent BETWEEN 0 AND 100),
    ADD COLUMN taxable bigint NOT NULL DEFAULT 0,
    ADD COLUMN tax_exempt boolean NOT NULL DEFAULT false,
    ADD COLUMN exempt_reason text NOT NULL DEFAULT '',
    -- False: it was paid when it was made, for which there is no payment by itself unless that was voided.
    ADD COLUMN on_account boolean NOT NULL DEFAULT false,
    ADD COLUMN pay_method text NOT NULL DEFAULT '' CHECK (pay_method IN ('', 'cash', 'card', 'transfer', 'check', 'other')),
    -- Of what was paid when it was made; below zero: less came in than was due.
    ADD COLUMN cash_rounding bigint NOT NULL DEFAULT 0,
    -- Of what went back, what lowered what was due.
    ADD COLUMN lowered_due bigint NOT NULL DEFAULT 0 CHECK (lowered_due >= 0),
    -- What is still to be paid.
    ADD COLUMN due bigint NOT NULL DEFAULT 0,
    ADD CONSTRAINT sale_taxable_within CHECK (taxable BETWEEN 0 AND price),
    ADD CONSTRAINT sale_place_with_rate CHECK ((tax_place = '') = (tax_percent IS NULL)),
    ADD CONSTRAINT sale_exempt_has_no_tax CHECK (NOT tax_exempt OR tax = 0 AND exempt_reason <> ''),
    ADD CONSTRAINT sale_due_not_negative CHECK (due >= 0);

CREATE INDEX sale_due ON sale (sold_at, id) WHERE due > 0;
CREATE INDEX sale_sold_at ON sale (sold_at);
CREATE INDEX refund_refunded_at ON refund (refunded_at);

-- What was paid of a sale later, and what was paid with it once that was voided; that has the sale's id.
CREATE TABLE payment (
    id          uuid        PRIMARY KEY,
    sale_id     uuid        NOT NULL REFERENCES sale,
    -- 1 for the first that was noted of the sale.
    position    integer     NOT NULL CHECK (position > 0),
    -- What came in, and what of it was not due.
    amount      bigint      NOT NULL CHECK (amount >= 0),
    rounding    bigint      NOT NULL,
    method      text        NOT NULL CHECK (method IN ('', 'cash', 'card', 'transfer', 'check', 'other')),
    paid_at     timestamptz NOT NULL,
    note        text        NOT NULL,
    voided_at   timestamptz,
    void_reason text        NOT NULL DEFAULT '',
    CONSTRAINT payment_place UNIQUE (sale_id, position),
    CONSTRAINT payment_settles CHECK (amount - rounding > 0),
    CONSTRAINT payment_rounds_cash CHECK (rounding = 0 OR method = 'cash')
);

-- What the owner states of selling: the smallest step in which the shop takes cash; zero: cash is not rounded. Who changes places or
-- this has the row to themselves.
CREATE TABLE sale_settings (
    one       boolean PRIMARY KEY DEFAULT true CHECK (one),
    cash_step bigint  NOT NULL DEFAULT 0 CHECK (cash_step >= 0),
    version   bigint  NOT NULL DEFAULT 0
);
INSERT INTO sale_settings DEFAULT VALUES;

-- The number of the receipt of a sale, or of a set whose sales have none of their own: 1, 2, 3 … in the order in which they were noted.
CREATE TABLE receipt (
    number  bigint PRIMARY KEY CHECK (number > 0),
    sale_id uuid   UNIQUE REFERENCES sale,
    set_id  uuid   UNIQUE REFERENCES sale_set,
    CONSTRAINT receipt_of_one CHECK ((sale_id IS NULL) <> (set_id IS NULL))
);

-- What was sold before has its numbers in the order of its times.
INSERT INTO receipt (number, sale_id, set_id)
SELECT row_number() OVER (ORDER BY sold_at, id), sale_id, set_id
FROM (SELECT sold_at, id, id AS sale_id, NULL::uuid AS set_id FROM sale WHERE sale.set_id IS NULL
    UNION ALL SELECT sold_at, id, NULL, id FROM sale_set) AS sold;

ALTER TABLE sale_settings ADD COLUMN receipts bigint NOT NULL DEFAULT 0;
UPDATE sale_settings SET receipts = (SELECT count(*) FROM receipt);
