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
