-- +goose Up

-- How a commission came to its end; NULL: it is not finished.
ALTER TABLE commission
    ADD COLUMN finish jsonb,
    DROP CONSTRAINT commission_state_check,
    ADD CONSTRAINT commission_state_check CHECK (state IN ('estimated', 'approved', 'declined', 'cancelled', 'finished')),
    DROP CONSTRAINT commission_approved_whole,
    ADD CONSTRAINT commission_approved_whole CHECK (state = 'cancelled' OR (state IN ('approved', 'finished')) = (approved_version > 0)),
    ADD CONSTRAINT commission_finished CHECK ((finish IS NOT NULL) = (state = 'finished'));
-- Of one piece one is open; what was declined or is at its end leaves it free.
DROP INDEX commission_of_piece_once;
CREATE UNIQUE INDEX commission_of_piece_once ON commission (piece_id) WHERE state IN ('estimated', 'approved');
CREATE INDEX commission_by_piece ON commission (piece_id, number);
CREATE INDEX piece_by_client ON piece (client_id, tag) WHERE client_id IS NOT NULL;

-- Whose letters the shop's are. Version 0: the owner said nothing yet.
CREATE TABLE letterhead (
    only_one   boolean PRIMARY KEY DEFAULT true CHECK (only_one),
    shop_name  text    NOT NULL,
    address    text[]  NOT NULL,
    phone      text    NOT NULL,
    email      text    NOT NULL,
    web        text    NOT NULL,
    tax_number text    NOT NULL,
    closing    text    NOT NULL,
    paper      text    NOT NULL CHECK (paper IN ('', 'a4', 'letter')),
    version    bigint  NOT NULL CHECK (version >= 0),
    CONSTRAINT letterhead_said CHECK (version = 0 OR (shop_name <> '' AND paper <> ''))
);
INSERT INTO letterhead (shop_name, address, phone, email, web, tax_number, closing, paper, version) VALUES ('', '{}', '', '', '', '', '', '', 0);
