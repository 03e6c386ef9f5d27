-- name: InsertSupplier :exec
INSERT INTO supplier (id, display_name, name_key, lead_days, note, retired, version)
VALUES (@id, @display_name, @name_key, @lead_days, @note, @retired, @version);

-- name: UpdateSupplier :exec
UPDATE supplier SET display_name = @display_name, name_key = @name_key, lead_days = @lead_days, note = @note, retired = @retired, version = @version
WHERE id = @id;

-- name: LockSupplier :one
SELECT sqlc.embed(supplier) FROM supplier WHERE id = @id FOR UPDATE;

-- name: GetSupplier :one
SELECT sqlc.embed(supplier) FROM supplier WHERE id = @id;

-- name: ListSuppliers :many
SELECT sqlc.embed(supplier) FROM supplier WHERE name_key > @after_key AND (@retired_too::boolean OR NOT retired)
ORDER BY name_key LIMIT @page_limit;

-- name: UpsertOffer :exec
INSERT INTO offer (supplier_id, product_id, package_label, content, article, lead_days, break_from, break_price)
VALUES (@supplier_id, @product_id, @package_label, @content, @article, sqlc.narg(lead_days), @break_from, @break_price)
ON CONFLICT (supplier_id, product_id, package_label) DO UPDATE SET content = excluded.content, article = excluded.article,
    lead_days = excluded.lead_days, break_from = excluded.break_from, break_price = excluded.break_price;

-- Whoever removes it holds its locks.
-- name: DeleteOffer :many
DELETE FROM offer WHERE supplier_id = @supplier_id AND product_id = @product_id AND lower(package_label) = lower(@package_label)
RETURNING package_label;

-- name: ListOffers :many
SELECT sqlc.embed(offer), sqlc.embed(supplier), sqlc.embed(product)
FROM offer JOIN supplier ON supplier.id = offer.supplier_id JOIN product ON product.id = offer.product_id
WHERE (product.name_key, supplier.name_key, offer.package_label) > (@after_product::text, @after_supplier::text, @after_label::text)
  AND (sqlc.narg(product_id)::uuid IS NULL OR offer.product_id = sqlc.narg(product_id))
  AND (sqlc.narg(supplier_id)::uuid IS NULL OR offer.supplier_id = sqlc.narg(supplier_id))
ORDER BY product.name_key, supplier.name_key, offer.package_label LIMIT @page_limit;

-- Whether the shop keeps a list of suppliers, and whether somebody is on it.
-- name: KnowsSupplier :one
SELECT EXISTS (SELECT FROM supplier) AS kept, EXISTS (SELECT FROM supplier WHERE supplier.name_key = @name_key) AS known;

-- By id, as all who need several do.
-- name: LockSuppliersNamed :many
SELECT sqlc.embed(supplier) FROM supplier WHERE name_key = ANY (@name_keys::text[]) ORDER BY id FOR UPDATE;

-- name: SuppliersNamed :many
SELECT sqlc.embed(supplier) FROM supplier WHERE name_key = ANY (@name_keys::text[]) ORDER BY id;

-- name: OffersOfSuppliers :many
SELECT sqlc.embed(offer) FROM offer WHERE supplier_id = ANY (@suppliers::uuid[]);

-- All that somebody sells.
-- name: AllOffers :many
SELECT sqlc.embed(offer), sqlc.embed(supplier), product.display_name AS product_name
FROM offer JOIN supplier ON supplier.id = offer.supplier_id AND NOT supplier.retired JOIN product ON product.id = offer.product_id
ORDER BY product.name_key, supplier.name_key, offer.package_label;
