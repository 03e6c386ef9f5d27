-- +goose Up

-- What the data sheet of a coating says; an empty family: there is no sheet. It is of the
-- product's row, for whoever reads the one reads the other. These are physical figures,
-- not money; zero is what the sheet does not say.
ALTER TABLE product
    ADD COLUMN sheet_family                     text             NOT NULL DEFAULT '',
    ADD COLUMN sheet_carrier                    text             NOT NULL DEFAULT '',
    ADD COLUMN sheet_light                      boolean          NOT NULL DEFAULT false,
    ADD COLUMN sheet_blocks_stains              boolean          NOT NULL DEFAULT false,
    ADD COLUMN sheet_method                     text             NOT NULL DEFAULT '',
    ADD COLUMN sheet_volume_solids_percent      double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_dry_film_um                double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_thinning_percent           double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_transfer_percent           double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_loss_per_set_up_litres     double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_reference_celsius          double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_reference_humidity_percent double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_rate_per_ten_celsius       double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_set_to_touch_minutes       integer          NOT NULL DEFAULT 0,
    ADD COLUMN sheet_tack_free_minutes          integer          NOT NULL DEFAULT 0,
    ADD COLUMN sheet_sand_minutes               integer          NOT NULL DEFAULT 0,
    ADD COLUMN sheet_recoat_minutes             integer          NOT NULL DEFAULT 0,
    ADD COLUMN sheet_recoat_closes_minutes      integer          NOT NULL DEFAULT 0,
    ADD COLUMN sheet_cure_minutes               integer          NOT NULL DEFAULT 0,
    ADD COLUMN sheet_min_celsius                double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_max_celsius                double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_max_humidity_percent       double precision NOT NULL DEFAULT 0,
    ADD COLUMN sheet_voc_grams_per_litre        double precision NOT NULL DEFAULT 0,
    ADD CONSTRAINT product_sheet_or_none CHECK (CASE sheet_family
        WHEN '' THEN sheet_carrier = '' AND sheet_method = '' AND sheet_recoat_minutes = 0 AND sheet_cure_minutes = 0
        ELSE sheet_carrier <> '' AND sheet_method <> '' AND sheet_recoat_minutes > 0 AND sheet_cure_minutes >= sheet_recoat_minutes END),
    ADD CONSTRAINT product_sheet_film_has_solids CHECK (sheet_dry_film_um = 0 OR sheet_volume_solids_percent > 0),
    -- NaN is more than infinity in Postgres.
    ADD CONSTRAINT product_sheet_is_finite CHECK ('-Infinity' < LEAST(
        sheet_volume_solids_percent, sheet_dry_film_um, sheet_thinning_percent, sheet_transfer_percent,
        sheet_loss_per_set_up_litres, sheet_reference_celsius, sheet_reference_humidity_percent, sheet_rate_per_ten_celsius,
        sheet_min_celsius, sheet_max_celsius, sheet_max_humidity_percent, sheet_voc_grams_per_litre
    ) AND 'Infinity' > GREATEST(
        sheet_volume_solids_percent, sheet_dry_film_um, sheet_thinning_percent, sheet_transfer_percent,
        sheet_loss_per_set_up_litres, sheet_reference_celsius, sheet_reference_humidity_percent, sheet_rate_per_ten_celsius,
        sheet_min_celsius, sheet_max_celsius, sheet_max_humidity_percent, sheet_voc_grams_per_litre
    ));
