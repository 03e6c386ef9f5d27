-- +goose Up

-- What the figures in this schema are in. They cannot be read as another currency, nor
-- days as another zone's, so a service started otherwise refuses to run.
CREATE TABLE shop (
    only_one boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    currency text    NOT NULL,
    zone     text    NOT NULL
);
