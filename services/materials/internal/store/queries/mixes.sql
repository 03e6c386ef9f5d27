-- name: InsertRecipe :exec
INSERT INTO recipe (id, display_name, name_key, makes_id, keeps_minutes, note, version)
VALUES (@id, @display_name, @name_key, @makes_id, @keeps_minutes, @note, @version)
ON CONFLICT (id) DO UPDATE SET display_name = @display_name, name_key = @name_key, makes_id = @makes_id, keeps_minutes = @keeps_minutes,
    note = @note, version = @version;

-- name: DeleteRecipeParts :exec
DELETE FROM recipe_part WHERE recipe_id = @recipe_id;

-- name: InsertRecipePart :exec
INSERT INTO recipe_part (recipe_id, number, product_id, parts, to_each) VALUES (@recipe_id, @number, @product_id, @parts, @to_each);

-- name: LockRecipe :exec
SELECT 1 FROM recipe WHERE id = @id FOR UPDATE;

-- name: GetRecipe :one
SELECT sqlc.embed(recipe), sqlc.embed(product) FROM recipe JOIN product ON product.id = recipe.makes_id WHERE recipe.id = @id;

-- name: ListRecipes :many
SELECT sqlc.embed(recipe), sqlc.embed(product) FROM recipe JOIN product ON product.id = recipe.makes_id
WHERE recipe.name_key > @after_key ORDER BY recipe.name_key LIMIT @page_limit;

-- name: ListRecipeParts :many
SELECT sqlc.embed(recipe_part), sqlc.embed(product) FROM recipe_part JOIN product ON product.id = recipe_part.product_id
WHERE recipe_part.recipe_id = ANY (@recipes::uuid[]) ORDER BY recipe_part.recipe_id, recipe_part.number;

-- name: InsertMix :one
INSERT INTO mix (id, recipe_id, like_id, product_id, lot_id, quantity, mixed_at, note, actor)
VALUES (@id, @recipe_id, @like_id, @product_id, @lot_id, @quantity, @mixed_at, @note, @actor) RETURNING number;

-- name: ListMixes :many
SELECT sqlc.embed(mix), sqlc.embed(product), sqlc.embed(lot), recipe.display_name AS recipe_name,
    EXISTS (SELECT FROM entry u WHERE u.of_id = mix.lot_id AND u.kind = 'undone') AS undone,
    (SELECT sum(l.quantity_left) FROM lot l WHERE l.root_id = mix.lot_id AND l.mix_id IS NOT NULL)::numeric AS quantity_left
FROM mix JOIN product ON product.id = mix.product_id JOIN lot ON lot.id = mix.lot_id JOIN recipe ON recipe.id = mix.recipe_id
WHERE (mix.mixed_at, mix.id) < (@before_at::timestamptz, @before_id::uuid)
  AND (sqlc.narg(only_id)::uuid IS NULL OR mix.id = sqlc.narg(only_id))
  AND (sqlc.narg(recipe_id)::uuid IS NULL OR mix.recipe_id = sqlc.narg(recipe_id))
  AND (sqlc.narg(product_id)::uuid IS NULL OR mix.product_id = sqlc.narg(product_id))
  AND (NOT @with_left::boolean OR EXISTS (SELECT FROM lot l WHERE l.root_id = mix.lot_id AND l.mix_id IS NOT NULL AND l.quantity_left > 0))
  AND (sqlc.narg(piece_id)::uuid IS NULL OR EXISTS (
        SELECT FROM lot l JOIN movement m ON m.lot_id = l.id JOIN entry e ON e.id = m.entry_id
        WHERE l.root_id = mix.lot_id AND l.mix_id IS NOT NULL AND e.piece_id = sqlc.narg(piece_id)
        GROUP BY e.piece_id HAVING sum(m.quantity) <> 0))
ORDER BY mix.mixed_at DESC, mix.id DESC LIMIT @page_limit;

-- What went into mixes, in the order in which it was noted.
-- name: ListMixParts :many
SELECT sqlc.embed(entry), sqlc.embed(product) FROM entry JOIN product ON product.id = entry.product_id
WHERE entry.mix_id = ANY (@mixes::uuid[]) AND entry.kind = 'went out' ORDER BY entry.id;

-- Where mixes went, less what came back.
-- name: ListMixUses :many
SELECT l.mix_id::uuid AS mix_id, e.piece_id::uuid AS piece_id, e.stage_id::uuid AS stage_id, e.stage_kind, e.pass,
    (-sum(m.quantity))::numeric AS quantity, min(e.at)::timestamptz AS first_at
FROM lot l JOIN movement m ON m.lot_id = l.id JOIN entry e ON e.id = m.entry_id
WHERE l.mix_id = ANY (@mixes::uuid[]) AND e.piece_id IS NOT NULL
GROUP BY l.mix_id, e.piece_id, e.stage_id, e.stage_kind, e.pass HAVING sum(m.quantity) <> 0
ORDER BY min(e.at), e.stage_id;

-- Whether a product is made, by any recipes one after the other, of another.
-- name: MadeOf :one
WITH RECURSIVE part AS (
    SELECT unnest(@parts::uuid[]) AS product_id
    UNION SELECT rp.product_id FROM part JOIN recipe r ON r.makes_id = part.product_id JOIN recipe_part rp ON rp.recipe_id = r.id
    WHERE r.id <> @recipe_id
)
SELECT EXISTS (SELECT FROM part WHERE product_id = @makes_id)::boolean;
