-- +goose Up

CREATE TABLE recipe (
    id            uuid    PRIMARY KEY,
    display_name  text    NOT NULL CHECK (display_name <> ''),
    name_key      text    NOT NULL,
    makes_id      uuid    NOT NULL REFERENCES product,
    keeps_minutes integer NOT NULL CHECK (keeps_minutes >= 0),
    note          text    NOT NULL,
    version       bigint  NOT NULL CHECK (version > 0)
);
CREATE UNIQUE INDEX recipe_name_once ON recipe (name_key);

CREATE TABLE recipe_part (
    recipe_id  uuid    NOT NULL REFERENCES recipe,
    number     integer NOT NULL,
    product_id uuid    NOT NULL REFERENCES product,
    -- Of the whole, by the measure of what is made; or else so much to each unit of that.
    parts      numeric NOT NULL CHECK (parts >= 0),
    to_each    numeric NOT NULL CHECK (to_each >= 0),
    PRIMARY KEY (recipe_id, number),
    CONSTRAINT recipe_part_once UNIQUE (recipe_id, product_id),
    CONSTRAINT recipe_part_is_either CHECK ((parts > 0) <> (to_each > 0))
);

-- What was mixed. Its parts are the entries of what went into it.
CREATE TABLE mix (
    id         uuid        PRIMARY KEY,
    number     bigint      NOT NULL GENERATED ALWAYS AS IDENTITY UNIQUE,
    recipe_id  uuid        NOT NULL REFERENCES recipe,
    like_id    uuid        REFERENCES mix,
    product_id uuid        NOT NULL REFERENCES product,
    lot_id     uuid        NOT NULL REFERENCES lot,
    quantity   numeric     NOT NULL CHECK (quantity > 0),
    mixed_at   timestamptz NOT NULL,
    note       text        NOT NULL,
    actor      text        NOT NULL
);
CREATE INDEX mix_newest ON mix (mixed_at, id);
CREATE INDEX entry_of_mix ON entry (mix_id) WHERE mix_id IS NOT NULL;
CREATE TRIGGER movement_stands BEFORE UPDATE OR DELETE ON mix FOR EACH ROW EXECUTE FUNCTION movement_stands();
CREATE INDEX lot_of_root ON lot (root_id) WHERE mix_id IS NOT NULL;
CREATE INDEX movement_of_lot ON movement (lot_id);

-- What was used of products, and how many whole days before it a plan had said so: what came back
-- was never used, nor what was undone; what went into a mix was, for what that makes; and what a
-- count found too little was used, nobody knows when. These are for forecasts, and so floating point.
CREATE VIEW used AS
SELECT entry.product_id, mix.product_id AS makes_id, entry.at, floor(date_part('epoch', entry.at - LEAST(need.noted_at, entry.at)) / 86400)::integer AS ahead,
    (entry.quantity - coalesce(back.quantity, 0))::double precision AS quantity
FROM entry
    LEFT JOIN entry undone ON undone.of_id = entry.id AND undone.kind = 'undone'
    LEFT JOIN (
        SELECT b.of_id, sum(b.quantity) AS quantity FROM entry b LEFT JOIN entry u ON u.of_id = b.id AND u.kind = 'undone'
        WHERE b.kind = 'came back' AND u.id IS NULL GROUP BY b.of_id
    ) back ON back.of_id = entry.id
    LEFT JOIN need ON need.stage_id = entry.stage_id AND need.product_id = entry.product_id AND need.pass = entry.pass AND entry.purpose = 'issue'
    LEFT JOIN mix ON mix.id = entry.mix_id
WHERE entry.kind = 'went out' AND undone.id IS NULL
UNION ALL
SELECT entry.product_id, NULL::uuid, entry.at, 0, -sum(movement.quantity)::double precision
FROM entry JOIN movement ON movement.entry_id = entry.id LEFT JOIN entry undone ON undone.of_id = entry.id AND undone.kind = 'undone'
WHERE entry.kind = 'counted' AND undone.id IS NULL
GROUP BY entry.product_id, entry.at, entry.id HAVING sum(movement.quantity) < 0;
