-- name: InsertProduct :exec
INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
VALUES (@id, @display_name, @name_key, @unit, @package_labels, @package_contents, @threshold, @on_hand, @value, @low, @version);

-- name: UpdateProduct :exec
UPDATE product SET threshold = @threshold, on_hand = @on_hand, value = @value, low = @low, version = @version,
    newest_at = @newest_at, newest_rank = @newest_rank, newest_id = @newest_id, last_quantity = @last_quantity, last_cost = @last_cost
WHERE id = @id;

-- name: UpdateSheet :exec
UPDATE product SET sheet_family = @sheet_family, sheet_carrier = @sheet_carrier, sheet_light = @sheet_light,
    sheet_blocks_stains = @sheet_blocks_stains, sheet_method = @sheet_method, sheet_volume_solids_percent = @sheet_volume_solids_percent,
    sheet_dry_film_um = @sheet_dry_film_um, sheet_thinning_percent = @sheet_thinning_percent, sheet_transfer_percent = @sheet_transfer_percent,
    sheet_loss_per_set_up_litres = @sheet_loss_per_set_up_litres, sheet_reference_celsius = @sheet_reference_celsius, sheet_reference_humidity_percent = @sheet_reference_humidity_percent,
    sheet_rate_per_ten_celsius = @sheet_rate_per_ten_celsius, sheet_set_to_touch_minutes = @sheet_set_to_touch_minutes, sheet_tack_free_minutes = @sheet_tack_free_minutes,
    sheet_sand_minutes = @sheet_sand_minutes, sheet_recoat_minutes = @sheet_recoat_minutes, sheet_recoat_closes_minutes = @sheet_recoat_closes_minutes,
    sheet_cure_minutes = @sheet_cure_minutes, sheet_min_celsius = @sheet_min_celsius, sheet_max_celsius = @sheet_max_celsius,
    sheet_max_humidity_percent = @sheet_max_humidity_percent, sheet_voc_grams_per_litre = @sheet_voc_grams_per_litre
WHERE id = @id;

-- name: LockProduct :one
SELECT sqlc.embed(product) FROM product WHERE id = @id FOR UPDATE;

-- name: LockProductFirst :exec
SELECT 1 FROM product WHERE id = @id FOR UPDATE;

-- name: GetProduct :one
SELECT sqlc.embed(product) FROM product WHERE id = @id;
