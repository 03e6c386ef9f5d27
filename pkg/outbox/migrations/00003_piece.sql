-- +goose Up

-- What happened to a piece is read without the rest of the log: a page of the piece asks for it.
CREATE INDEX event_piece ON event (piece_id, id) WHERE piece_id IS NOT NULL;
