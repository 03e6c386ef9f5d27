-- +goose Up

ALTER TABLE listing
    -- Where it stands beside channel, while it is listed.
    ADD COLUMN other_channels text[] NOT NULL DEFAULT '{}',
    -- When it was withdrawn, and why; NULL and empty once it was listed or sold again.
    ADD COLUMN withdrawn_at timestamptz,
    ADD COLUMN withdraw_reason text NOT NULL DEFAULT '';

-- What was withdrawn was seen unsold for as long as it stood.
ALTER TABLE past_stretch DROP CONSTRAINT past_stretch_ended_check,
    ADD CONSTRAINT past_stretch_ended_check CHECK (ended IN ('', 'changed', 'sold', 'withdrawn'));
