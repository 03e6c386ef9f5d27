-- +goose Up

-- Work of others that is back and whose bill is yet to come stays, until it has one. What came back
-- before this column was made is here after a rebuild.
ALTER TABLE outside_work ADD COLUMN unbilled boolean NOT NULL DEFAULT false;
