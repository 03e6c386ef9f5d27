-- +goose Up

-- What a product is, beside what its data sheet says of its coats. Zero and empty is what
-- nobody said, but for temperatures, of which zero is one.
ALTER TABLE product
    ADD COLUMN about_category                text             NOT NULL DEFAULT '',
    ADD COLUMN about_density_grams_per_ml    double precision NOT NULL DEFAULT 0,
    -- Null: there is none, or nobody said.
    ADD COLUMN about_flash_point_celsius     double precision,
    ADD COLUMN about_boiling_point_celsius   double precision,
    -- Null: nobody said beside the data sheet.
    ADD COLUMN about_voc_grams_per_litre     double precision CHECK (about_voc_grams_per_litre >= 0 AND about_voc_grams_per_litre < 'Infinity'),
    -- From when it came in, and from when it was opened.
    ADD COLUMN about_closed_days             integer          NOT NULL DEFAULT 0 CHECK (about_closed_days >= 0),
    ADD COLUMN about_open_days               integer          NOT NULL DEFAULT 0 CHECK (about_open_days >= 0),
    -- Once it is mixed.
    ADD COLUMN about_pot_life_minutes        integer          NOT NULL DEFAULT 0 CHECK (about_pot_life_minutes >= 0),
    ADD COLUMN about_colour                  text             NOT NULL DEFAULT '',
    ADD COLUMN about_sheen                   text             NOT NULL DEFAULT '',
    ADD COLUMN about_maker                   text             NOT NULL DEFAULT '',
    ADD COLUMN about_article                 text             NOT NULL DEFAULT '',
    ADD COLUMN about_square_metres_per_litre double precision NOT NULL DEFAULT 0,
    ADD COLUMN about_hazards                 text             NOT NULL DEFAULT '',
    ADD COLUMN about_ingredients             text             NOT NULL DEFAULT '',
    ADD COLUMN about_safety_sheet            text             NOT NULL DEFAULT '',
    ADD COLUMN about_safety_sheet_date       date,
    ADD COLUMN about_cautions                text[]           NOT NULL DEFAULT '{}',
    ADD COLUMN about_note                    text             NOT NULL DEFAULT '',
    -- NaN is more than infinity in Postgres.
    ADD CONSTRAINT product_about_is_finite CHECK (
        about_density_grams_per_ml >= 0 AND about_density_grams_per_ml < 'Infinity'
        AND about_square_metres_per_litre >= 0 AND about_square_metres_per_litre < 'Infinity'
        AND (about_flash_point_celsius IS NULL OR about_flash_point_celsius > '-Infinity' AND about_flash_point_celsius < 'Infinity')
        AND (about_boiling_point_celsius IS NULL OR about_boiling_point_celsius > '-Infinity' AND about_boiling_point_celsius < 'Infinity'));
CREATE INDEX product_of_category ON product (about_category, name_key);

-- Whom the shop buys from.
CREATE TABLE supplier (
    id           uuid    PRIMARY KEY,
    display_name text    NOT NULL CHECK (display_name <> ''),
    -- Alike for names that people take for the same.
    name_key     text    NOT NULL,
    -- From order to delivery, as usual.
    lead_days    integer NOT NULL CHECK (lead_days BETWEEN 0 AND 365),
    note         text    NOT NULL,
    -- Nothing more is bought there.
    retired      boolean NOT NULL,
    -- Counts its facts, those of its offers among them.
    version      bigint  NOT NULL CHECK (version > 0)
);
CREATE UNIQUE INDEX supplier_name_once ON supplier (name_key);

-- What a supplier asks for a package. It is changed only under the locks of its product and,
-- after that, of its supplier.
CREATE TABLE offer (
    supplier_id   uuid      NOT NULL REFERENCES supplier,
    product_id    uuid      NOT NULL REFERENCES product,
    -- One of the product's packages, and what is in it.
    package_label text      NOT NULL CHECK (package_label <> ''),
    content       numeric   NOT NULL CHECK (content > 0),
    article       text      NOT NULL,
    -- Null: the supplier's.
    lead_days     integer   CHECK (lead_days BETWEEN 0 AND 365),
    -- From so many packages on each costs so much: the two at the same place.
    break_from    integer[] NOT NULL CHECK (break_from[1] = 1),
    break_price   bigint[]  NOT NULL CHECK (0 < ALL (break_price)),
    PRIMARY KEY (supplier_id, product_id, package_label),
    CONSTRAINT offer_break_has_price CHECK (cardinality(break_from) = cardinality(break_price))
);
CREATE INDEX offer_of_product ON offer (product_id, supplier_id, package_label);
