-- +goose Up

-- How the shop counts what its stock cost; it is chosen before anything comes in.
CREATE TABLE stock_policy (
    one         boolean PRIMARY KEY DEFAULT true CHECK (one),
    cost_method text    NOT NULL CHECK (cost_method IN ('first in first out', 'moving average')),
    version     bigint  NOT NULL CHECK (version > 0)
);
INSERT INTO stock_policy (cost_method, version) VALUES ('first in first out', 1);

-- Everything that was ever written down of stock. Rows are added and never changed; what lots
-- hold, what issues cost and what is on hand follows from them in the order of their times, in
-- whichever order they were written down.
CREATE TABLE entry (
    id          uuid        PRIMARY KEY,
    product_id  uuid        NOT NULL REFERENCES product,
    -- What it does to stock.
    kind        text        NOT NULL CHECK (kind IN ('came in', 'went out', 'came back', 'counted', 'split', 'moved', 'closed', 'cost added', 'undone')),
    -- What it was for.
    purpose     text        NOT NULL CHECK (purpose IN ('delivery', 'issue', 'return', 'take back', 'waste', 'count', 'correction', 'move', 'opening', 'closing', 'mixing', 'undo')),
    at          timestamptz NOT NULL,
    -- Of a count: how much there was.
    quantity    numeric     NOT NULL CHECK (quantity >= 0),
    -- Of what came in, or was added to the cost of a lot.
    cost        bigint      NOT NULL DEFAULT 0,
    -- The lot that it makes or is of; null: whichever is first.
    lot_id      uuid,
    -- The lot that a part becomes, or that a count makes where it finds more.
    into_lot_id uuid,
    of_id       uuid        REFERENCES entry,
    -- From then on the lot, or the part that it becomes, is too old.
    expires_at  timestamptz,
    opened      boolean     NOT NULL DEFAULT false,
    -- What may go out: fresh, or also what is expired, or anything.
    takes       text        NOT NULL DEFAULT 'fresh' CHECK (takes IN ('fresh', 'expired', 'anything')),
    place_id    uuid,
    piece_id    uuid        REFERENCES piece,
    stage_id    uuid,
    stage_kind  text        NOT NULL DEFAULT '',
    pass        integer     NOT NULL DEFAULT 0,
    -- Of waste.
    cause       text        NOT NULL DEFAULT '',
    -- The batch that something went into, or came out of.
    mix_id      uuid,
    supplier    text        NOT NULL DEFAULT '',
    -- The maker's number on the can.
    batch_code  text        NOT NULL DEFAULT '',
    reason      text        NOT NULL DEFAULT '',
    actor       text        NOT NULL,
    recorded_at timestamptz NOT NULL DEFAULT now(),
    -- Of what undoes another, which counts as if it had never been: when somebody did so.
    undone_at   timestamptz,
    CONSTRAINT entry_undone_at_a_time CHECK ((kind = 'undone') = (undone_at IS NOT NULL)),
    CONSTRAINT entry_undoes CHECK ((kind = 'undone') = (purpose IN ('take back', 'undo'))),
    -- Of a delivery: the line of an order that it fulfils.
    order_id    uuid,
    order_line  integer     NOT NULL DEFAULT 0,
    CONSTRAINT entry_cost_is_of_a_lot CHECK (kind IN ('came in', 'cost added') OR cost = 0),
    CONSTRAINT entry_is_of_another CHECK ((kind IN ('came back', 'undone')) = (of_id IS NOT NULL)),
    CONSTRAINT entry_stage_is_of_a_piece CHECK ((piece_id IS NULL) = (stage_id IS NULL) AND (piece_id IS NULL) = (pass = 0)),
    CONSTRAINT entry_issue_is_to_a_piece CHECK (purpose NOT IN ('issue', 'return', 'take back') OR piece_id IS NOT NULL)
);

-- Lots had a row, and so had issues and what was taken back of them. A lot counts from when the
-- first of it was used, if somebody dated that earlier. When they were written down is not known,
-- but for about when they happened.
INSERT INTO entry (id, product_id, kind, purpose, recorded_at, at, quantity, cost, lot_id, supplier, actor)
SELECT lot.id, lot.product_id, 'came in', 'delivery', lot.received_at, LEAST(lot.received_at, min(issue.issued_at)), lot.quantity, lot.cost, lot.id, lot.supplier,
    (SELECT r.actor FROM movement r WHERE r.lot_id = lot.id AND r.kind = 'receive')
FROM lot LEFT JOIN movement m ON m.lot_id = lot.id AND m.kind = 'issue' LEFT JOIN issue ON issue.id = m.issue_id
GROUP BY lot.id;
INSERT INTO entry (id, product_id, kind, purpose, recorded_at, at, quantity, piece_id, stage_id, stage_kind, pass, actor)
SELECT issue.id, issue.product_id, 'went out', 'issue', issued_at, issued_at,
    (SELECT -sum(quantity) FROM movement m WHERE m.issue_id = issue.id AND m.kind = 'issue'), piece_id, stage_id, stage_kind, pass, actor
FROM issue;
-- What was taken back counts as if it had never gone. Its id makes it of one instant the next
-- after its issue.
INSERT INTO entry (id, product_id, kind, purpose, recorded_at, at, undone_at, quantity, of_id, piece_id, stage_id, stage_kind, pass, reason, actor)
SELECT (left(e.id::text, 28) || 'ffffffff')::uuid, e.product_id, 'undone', 'take back', taken_back_at, e.at, taken_back_at, e.quantity, e.id,
    e.piece_id, e.stage_id, e.stage_kind, e.pass, take_back.reason, take_back.actor
FROM take_back JOIN entry e ON e.id = issue_id;

DROP TRIGGER movement_stands ON movement;
DROP INDEX movement_once;
ALTER TABLE movement
    DROP CONSTRAINT movement_sign,
    DROP CONSTRAINT movement_of_an_issue,
    -- The entry that it belongs to.
    ADD COLUMN entry_id uuid REFERENCES entry,
    -- The later entry, of an earlier time, that changed what this one drew or cost; null: it is
    -- the entry's own.
    ADD COLUMN because_id uuid REFERENCES entry;
UPDATE movement SET entry_id = CASE kind
    WHEN 'receive' THEN lot_id
    ELSE issue_id END,
    -- What is taken back moves by what it undoes.
    because_id = CASE kind WHEN 'take_back' THEN (SELECT id FROM entry WHERE of_id = issue_id) END;
ALTER TABLE movement ALTER COLUMN entry_id SET NOT NULL, DROP COLUMN kind, DROP COLUMN issue_id, DROP COLUMN actor, DROP COLUMN at;
CREATE INDEX movement_of_entry ON movement (entry_id);
CREATE INDEX movement_of_product ON movement (product_id);
CREATE TRIGGER movement_stands BEFORE UPDATE OR DELETE ON movement FOR EACH ROW EXECUTE FUNCTION movement_stands();
CREATE TRIGGER movement_stands BEFORE UPDATE OR DELETE ON entry FOR EACH ROW EXECUTE FUNCTION movement_stands();
DROP TABLE take_back;
DROP TABLE issue;

CREATE INDEX entry_of_product ON entry (product_id, at, id);
CREATE INDEX entry_newest ON entry (at, id);
CREATE INDEX entry_of_piece ON entry (piece_id, at, id) WHERE piece_id IS NOT NULL;
CREATE INDEX entry_back_of ON entry (of_id) WHERE of_id IS NOT NULL;
CREATE UNIQUE INDEX entry_undone_once ON entry (of_id) WHERE kind = 'undone';

-- The newest entry of a product: what comes after it needs none of the others.
ALTER TABLE product
    ADD COLUMN newest_at   timestamptz,
    ADD COLUMN newest_rank integer NOT NULL DEFAULT 0,
    ADD COLUMN newest_id   uuid,
    -- What came in last, and its cost: what is found when nothing is there costs as that did.
    ADD COLUMN last_quantity numeric NOT NULL DEFAULT 0,
    ADD COLUMN last_cost     bigint  NOT NULL DEFAULT 0;
UPDATE product SET newest_at = n.at, newest_rank = n.rank, newest_id = n.id
FROM (SELECT DISTINCT ON (product_id) product_id, at, CASE kind WHEN 'came in' THEN 0 ELSE 2 END AS rank, id
    FROM entry ORDER BY product_id, at DESC, 3 DESC, id DESC) n
WHERE n.product_id = product.id;

-- A lot is what the entries make of it.
ALTER TABLE lot
    -- The lot that came in, of which this is a part that was opened or moved by itself; its own: it came in.
    ADD COLUMN root_id    uuid,
    ADD COLUMN expires_at timestamptz,
    ADD COLUMN opened     boolean NOT NULL DEFAULT false,
    ADD COLUMN closed     boolean NOT NULL DEFAULT false,
    ADD COLUMN place_id   uuid,
    ADD COLUMN mix_id     uuid,
    -- The maker's number on the can, for the same colour again.
    ADD COLUMN batch_code text NOT NULL DEFAULT '';
UPDATE lot SET received_at = entry.at, root_id = lot.id FROM entry WHERE entry.id = lot.id;
ALTER TABLE lot ALTER COLUMN root_id SET NOT NULL;
UPDATE product SET last_quantity = l.quantity, last_cost = l.cost
FROM (SELECT DISTINCT ON (product_id) product_id, quantity, cost FROM lot ORDER BY product_id, received_at DESC, id DESC) l
WHERE l.product_id = product.id;
ALTER TABLE lot DROP CONSTRAINT lot_quantity_check, ADD CONSTRAINT lot_quantity_check CHECK (quantity >= 0);
CREATE INDEX lot_in_place ON lot (place_id) WHERE quantity_left > 0;
