-- name: UpdateDetails :exec
UPDATE product SET display_name = @display_name, name_key = @name_key, package_labels = @package_labels, package_contents = @package_contents,
    about_category = @about_category, about_density_grams_per_ml = @about_density_grams_per_ml,
    about_flash_point_celsius = sqlc.narg(about_flash_point_celsius), about_boiling_point_celsius = sqlc.narg(about_boiling_point_celsius),
    about_closed_days = @about_closed_days, about_open_days = @about_open_days, about_pot_life_minutes = @about_pot_life_minutes,
    about_colour = @about_colour, about_sheen = @about_sheen, about_maker = @about_maker, about_article = @about_article,
    about_square_metres_per_litre = @about_square_metres_per_litre, about_hazards = @about_hazards, about_ingredients = @about_ingredients,
    about_safety_sheet = @about_safety_sheet, about_safety_sheet_date = sqlc.narg(about_safety_sheet_date), about_cautions = @about_cautions, about_note = @about_note
WHERE id = @id;

-- By name, after a name; an empty word is any.
-- name: ListProducts :many
SELECT sqlc.embed(product) FROM product
WHERE name_key > @after_key AND (@category::text = '' OR about_category = @category)
  AND (@search_key::text = '' OR strpos(name_key || E'\n' || lower(about_colour || E'\n' || about_maker || E'\n' || about_article), @search_key) > 0)
ORDER BY name_key LIMIT @page_limit;

-- All of them; a row that is locked for an import is read after it.
-- name: AllProducts :many
SELECT sqlc.embed(product) FROM product ORDER BY name_key;

-- By id, as all who need several do.
-- name: LockProductsNamed :many
SELECT sqlc.embed(product) FROM product WHERE name_key = ANY (@name_keys::text[]) ORDER BY id FOR UPDATE;

-- name: ProductsNamed :many
SELECT sqlc.embed(product) FROM product WHERE name_key = ANY (@name_keys::text[]) ORDER BY id;

-- The packages of products that suppliers offer.
-- name: OfferedPackages :many
SELECT DISTINCT ON (offer.product_id, offer.package_label) offer.product_id, offer.package_label, offer.content, supplier.display_name
FROM offer JOIN supplier ON supplier.id = offer.supplier_id
WHERE offer.product_id = ANY (@products::uuid[]) ORDER BY offer.product_id, offer.package_label, supplier.display_name;
