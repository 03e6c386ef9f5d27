-- +goose Up

-- The pictures that photos show, each by what its bytes come to. The row is written before the file
-- and stays when the file is swept away; its lock keeps who writes a file and who sweeps it apart.
CREATE TABLE photo_file (
    sha256     text        PRIMARY KEY CONSTRAINT photo_file_sha256 CHECK (sha256 ~ '^[0-9a-f]{64}$'),
    width      integer     NOT NULL CHECK (width > 0),
    height     integer     NOT NULL CHECK (height > 0),
    size_bytes bigint      NOT NULL CHECK (size_bytes > 0),
    -- When it was last written, or a photo of it was removed.
    used_at    timestamptz NOT NULL,
    -- The file is gone.
    swept_at   timestamptz
);

CREATE TABLE photo (
    id            uuid        PRIMARY KEY,
    piece_id      uuid        NOT NULL REFERENCES piece,
    -- 1, 2, 3 … on the piece, never given again.
    number        integer     NOT NULL CHECK (number > 0),
    part_id       uuid        REFERENCES part,
    moment        text        NOT NULL CHECK (moment IN ('before', 'during', 'after', 'defect')),
    note          text        NOT NULL,
    -- What it belongs to, as it was said; workflow keeps these.
    stage_id      uuid,
    inspection_id uuid,
    taken_at      timestamptz NOT NULL,
    added_at      timestamptz NOT NULL,
    added_by      text        NOT NULL,
    sha256        text        NOT NULL REFERENCES photo_file,
    remove_reason text,
    removed_by    text,
    removed_at    timestamptz,
    version       bigint      NOT NULL CHECK (version > 0),
    CONSTRAINT photo_number_once UNIQUE (piece_id, number),
    CONSTRAINT photo_removed_whole CHECK (num_nulls(remove_reason, removed_by, removed_at) IN (0, 3))
);

-- The same picture twice on one piece is one photo.
CREATE UNIQUE INDEX photo_once ON photo (piece_id, sha256) WHERE removed_at IS NULL;
CREATE INDEX photo_by_file ON photo (sha256) WHERE removed_at IS NULL;
CREATE INDEX photo_file_there ON photo_file (used_at) WHERE swept_at IS NULL;
