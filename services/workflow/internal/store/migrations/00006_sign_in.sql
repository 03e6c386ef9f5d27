-- +goose Up

-- What somebody is in the shop: who may do what.
ALTER TABLE person ADD COLUMN role text NOT NULL DEFAULT 'helper' CHECK (role IN ('helper', 'lead', 'owner'));

-- What somebody signs in with. Of the secret itself only what argon2id makes of it is kept.
CREATE TABLE sign_in (
    person_id  uuid        PRIMARY KEY REFERENCES person,
    kind       text        NOT NULL CHECK (kind IN ('pin', 'passphrase')),
    hash       text        NOT NULL CHECK (hash LIKE '$argon2id$%'),
    changed_at timestamptz NOT NULL
);

-- Wrong secrets in a row, under the name that was typed, whether somebody has it or not: so nobody
-- learns from a lock who works here.
CREATE TABLE sign_in_attempt (
    name_key     text        PRIMARY KEY,
    failures     integer     NOT NULL CHECK (failures >= 0),
    locked_until timestamptz,
    tried_at     timestamptz NOT NULL
);
CREATE INDEX sign_in_attempt_by_age ON sign_in_attempt (tried_at);

-- A device on which somebody has signed in, or a program that an owner let in. The secret is 256 random
-- bits, which need no salt.
CREATE TABLE session (
    id         uuid        PRIMARY KEY,
    person_id  uuid        REFERENCES person, -- NULL: a program
    secret_sha bytea       NOT NULL CONSTRAINT session_secret_once UNIQUE CHECK (octet_length(secret_sha) = 32),
    label      text        NOT NULL,
    -- Of a program.
    label_key  text,
    role       text        CHECK (role IN ('helper', 'lead', 'owner')),
    read_only  boolean     NOT NULL DEFAULT false,
    methods    text[]      NOT NULL DEFAULT '{}',
    actor      text        NOT NULL DEFAULT '',
    created_at timestamptz NOT NULL,
    used_at    timestamptz,
    expires_at timestamptz NOT NULL,
    ended_at   timestamptz,
    CONSTRAINT session_of_person_or_program CHECK ((person_id IS NULL) = (role IS NOT NULL) AND (person_id IS NULL) = (label_key IS NOT NULL))
);
CREATE INDEX session_of_person ON session (person_id, id) WHERE ended_at IS NULL;
CREATE UNIQUE INDEX token_label_once ON session (label_key) WHERE ended_at IS NULL;

-- The one-time key with which the first owner claims the shop.
CREATE TABLE claim_key (
    one     boolean     PRIMARY KEY DEFAULT true CHECK (one),
    sha     bytea       NOT NULL CHECK (octet_length(sha) = 32),
    made_at timestamptz NOT NULL
);
