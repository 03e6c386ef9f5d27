-- +goose Up

-- True while what a restored producer said before is being taken back, so that a crash
-- in the middle begins it again.
ALTER TABLE source ADD COLUMN restoring boolean NOT NULL DEFAULT false;
