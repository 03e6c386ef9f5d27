-- +goose Up

-- Of a share of a stretch on a batch: when the stretch began, if that is before the share. What was
-- booked before this column was made is priced by itself, as its events say it.
ALTER TABLE stretch ADD COLUMN whole_from timestamptz CONSTRAINT stretch_whole_begins_before_share CHECK (whole_from < started_at);
