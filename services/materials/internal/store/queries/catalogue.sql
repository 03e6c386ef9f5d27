-- name: UpdateDetails :exec
UPDATE product SET display_name = @display_name, name_key = @name_key, package_labels = @package_labels, package_contents = @package_contents,
    about_category = @about_category, about_density_grams_per_ml = @about_density_grams_per_ml,
    about_flash_point_celsius = sqlc.narg(about_flash_point_celsius), about_boiling_point_celsius = sqlc.narg(about_boiling_point_celsius),
    about_voc_grams_per_litre = sqlc.narg(about_voc_grams_per_litre),
    about_closed_days = @about_closed_days, about_open_days = @about_open_days, about_pot_life_minutes = @about_pot_life_minutes,
    about_colour = @about_colour, about_sheen = @about_sheen, about_maker = @about_maker, about_article = @about_article,
    about_square_metres_per_litre = @about_square_metres_per_litre, about_hazards = @about_hazards, about_ingredients = @about_ingredients,
    about_safety_sheet = @about_safety_sheet, about_safety_sheet_date = sqlc.narg(about_safety_sheet_date), about_cautions = @about_cautions, about_note = @about_note
WHERE id = @id;

-- All that a file of products may say of one, in one statement: a file has thousands.
-- name: SaveProduct :exec
INSERT INTO product (
    id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version, sheet_family,
    sheet_carrier, sheet_light, sheet_blocks_stains, sheet_method, sheet_volume_solids_percent, sheet_dry_film_um, sheet_thinning_percent,
    sheet_transfer_percent, sheet_loss_per_set_up_litres, sheet_reference_celsius, sheet_reference_humidity_percent,
    sheet_rate_per_ten_celsius, sheet_set_to_touch_minutes, sheet_tack_free_minutes, sheet_sand_minutes, sheet_recoat_minutes,
    sheet_recoat_closes_minutes, sheet_cure_minutes, sheet_min_celsius, sheet_max_celsius, sheet_max_humidity_percent,
    sheet_voc_grams_per_litre, about_category, about_density_grams_per_ml, about_flash_point_celsius, about_boiling_point_celsius,
    about_closed_days, about_open_days, about_pot_life_minutes, about_colour, about_sheen, about_maker, about_article,
    about_square_metres_per_litre, about_hazards, about_ingredients, about_safety_sheet, about_safety_sheet_date, about_cautions, about_note,
    about_voc_grams_per_litre
) VALUES (
    @id, @display_name, @name_key, @unit, @package_labels, @package_contents, @threshold, @on_hand, @value, @low, @version, @sheet_family,
    @sheet_carrier, @sheet_light, @sheet_blocks_stains, @sheet_method, @sheet_volume_solids_percent, @sheet_dry_film_um,
    @sheet_thinning_percent, @sheet_transfer_percent, @sheet_loss_per_set_up_litres, @sheet_reference_celsius,
    @sheet_reference_humidity_percent, @sheet_rate_per_ten_celsius, @sheet_set_to_touch_minutes, @sheet_tack_free_minutes,
    @sheet_sand_minutes, @sheet_recoat_minutes, @sheet_recoat_closes_minutes, @sheet_cure_minutes, @sheet_min_celsius, @sheet_max_celsius,
    @sheet_max_humidity_percent, @sheet_voc_grams_per_litre, @about_category, @about_density_grams_per_ml,
    sqlc.narg(about_flash_point_celsius), sqlc.narg(about_boiling_point_celsius), @about_closed_days, @about_open_days,
    @about_pot_life_minutes, @about_colour, @about_sheen, @about_maker, @about_article, @about_square_metres_per_litre, @about_hazards,
    @about_ingredients, @about_safety_sheet, sqlc.narg(about_safety_sheet_date), @about_cautions, @about_note, sqlc.narg(about_voc_grams_per_litre)
) ON CONFLICT (id) DO UPDATE SET
    display_name = excluded.display_name, name_key = excluded.name_key, package_labels = excluded.package_labels,
    package_contents = excluded.package_contents, threshold = excluded.threshold, low = excluded.low, version = excluded.version,
    sheet_family = excluded.sheet_family, sheet_carrier = excluded.sheet_carrier, sheet_light = excluded.sheet_light,
    sheet_blocks_stains = excluded.sheet_blocks_stains, sheet_method = excluded.sheet_method,
    sheet_volume_solids_percent = excluded.sheet_volume_solids_percent, sheet_dry_film_um = excluded.sheet_dry_film_um,
    sheet_thinning_percent = excluded.sheet_thinning_percent, sheet_transfer_percent = excluded.sheet_transfer_percent,
    sheet_loss_per_set_up_litres = excluded.sheet_loss_per_set_up_litres, sheet_reference_celsius = excluded.sheet_reference_celsius,
    sheet_reference_humidity_percent = excluded.sheet_reference_humidity_percent,
    sheet_rate_per_ten_celsius = excluded.sheet_rate_per_ten_celsius, sheet_set_to_touch_minutes = excluded.sheet_set_to_touch_minutes,
    sheet_tack_free_minutes = excluded.sheet_tack_free_minutes, sheet_sand_minutes = excluded.sheet_sand_minutes,
    sheet_recoat_minutes = excluded.sheet_recoat_minutes, sheet_recoat_closes_minutes = excluded.sheet_recoat_closes_minutes,
    sheet_cure_minutes = excluded.sheet_cure_minutes, sheet_min_celsius = excluded.sheet_min_celsius,
    sheet_max_celsius = excluded.sheet_max_celsius, sheet_max_humidity_percent = excluded.sheet_max_humidity_percent,
    sheet_voc_grams_per_litre = excluded.sheet_voc_grams_per_litre, about_category = excluded.about_category,
    about_density_grams_per_ml = excluded.about_density_grams_per_ml, about_flash_point_celsius = excluded.about_flash_point_celsius,
    about_boiling_point_celsius = excluded.about_boiling_point_celsius, about_closed_days = excluded.about_closed_days,
    about_open_days = excluded.about_open_days, about_pot_life_minutes = excluded.about_pot_life_minutes,
    about_colour = excluded.about_colour, about_sheen = excluded.about_sheen, about_maker = excluded.about_maker,
    about_article = excluded.about_article, about_square_metres_per_litre = excluded.about_square_metres_per_litre,
    about_hazards = excluded.about_hazards, about_ingredients = excluded.about_ingredients,
    about_safety_sheet = excluded.about_safety_sheet, about_safety_sheet_date = excluded.about_safety_sheet_date,
    about_cautions = excluded.about_cautions, about_note = excluded.about_note,
    about_voc_grams_per_litre = excluded.about_voc_grams_per_litre;

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
