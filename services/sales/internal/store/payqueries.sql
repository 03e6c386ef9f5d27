-- Places are changed one at a time, for one of them at most is the default.
-- name: LockSaleSettings :exec
SELECT FROM sale_settings FOR UPDATE;

-- Places by name, with their rates in order: a row for each rate. Of those named, by id or by name; of none: all.
-- name: ListTaxPlaces :many
SELECT tax_place.id, name_key, display_name, is_default, retired, version, from_day, percent, delivery_taxed
FROM tax_place JOIN tax_rate ON tax_rate.place_id = tax_place.id
WHERE (@show_retired::boolean OR NOT retired)
    AND (cardinality(@ids::uuid[]) = 0 OR tax_place.id = ANY (@ids::uuid[]))
    AND (cardinality(@keys::text[]) = 0 OR name_key = ANY (@keys::text[]))
ORDER BY name_key, from_day;

-- name: ClearDefaultTaxPlace :exec
UPDATE tax_place SET is_default = false WHERE is_default AND id <> @id;

-- name: SaveTaxPlace :exec
INSERT INTO tax_place (id, name_key, display_name, is_default, retired, version)
VALUES (@id, @name_key, @display_name, @is_default, @retired, @version)
ON CONFLICT (id) DO UPDATE SET display_name = excluded.display_name, is_default = excluded.is_default, retired = excluded.retired, version = excluded.version;

-- name: SaveTaxRate :exec
INSERT INTO tax_rate (place_id, from_day, percent, delivery_taxed) VALUES (@place_id, @from_day, @percent, @delivery_taxed)
ON CONFLICT (place_id, from_day) DO UPDATE SET percent = excluded.percent, delivery_taxed = excluded.delivery_taxed;

-- What was sold and taxed in a period by place and rate, and what went back in it.
-- name: TaxReport :many
SELECT tax_place, coalesce(tax_percent, 0)::numeric AS tax_percent, sum(gross)::bigint AS gross, sum(exempt)::bigint AS exempt, sum(taxable)::bigint AS taxable, sum(tax)::bigint AS tax,
    sum(price_back)::bigint AS price_back, sum(tax_back)::bigint AS tax_back
FROM (
    SELECT tax_place, tax_percent, price AS gross, CASE WHEN tax_exempt THEN price ELSE 0 END AS exempt,
        CASE WHEN tax_place = '' AND tax > 0 THEN price ELSE taxable END AS taxable, tax, 0 AS price_back, 0 AS tax_back
    FROM sale WHERE sold_at >= @from_at::timestamptz AND sold_at < @until_at::timestamptz
    UNION ALL
    SELECT tax_place, tax_percent, 0, 0, 0, 0, refund.price, refund.tax
    FROM refund JOIN sale ON sale.id = refund.sale_id WHERE refunded_at >= @from_at::timestamptz AND refunded_at < @until_at::timestamptz
) AS moved
GROUP BY tax_place, tax_percent ORDER BY tax_place, moved.tax_percent;

-- How the sales of some pieces are taxed and paid.
-- name: SaleTerms :many
SELECT id, tax_place, tax_percent, taxable, tax_exempt, exempt_reason, on_account, pay_method, cash_rounding, lowered_due
FROM sale WHERE piece_id = ANY (@pieces::uuid[]);

-- name: SetSaleTerms :exec
UPDATE sale SET tax_place = @tax_place, tax_percent = sqlc.narg(tax_percent), taxable = @taxable, tax_exempt = @tax_exempt, exempt_reason = @exempt_reason,
    on_account = @on_account, pay_method = @pay_method, cash_rounding = @cash_rounding, due = @due
WHERE id = @id;

-- name: SetSaleDue :exec
UPDATE sale SET lowered_due = @lowered_due, due = @due WHERE id = @id;

-- name: ListPayments :many
SELECT payment.id, sale_id, amount, rounding, method, paid_at, note, voided_at, void_reason
FROM payment JOIN sale ON sale.id = payment.sale_id WHERE piece_id = ANY (@pieces::uuid[]) ORDER BY sale_id, paid_at, payment.position;

-- name: InsertPayment :exec
INSERT INTO payment (id, sale_id, position, amount, rounding, method, paid_at, note)
VALUES (@id, @sale_id, (SELECT coalesce(max(before.position), 0) + 1 FROM payment before WHERE before.sale_id = @sale_id), @amount, @rounding, @method, @paid_at, @note)
ON CONFLICT (id) DO NOTHING;

-- name: VoidPayment :exec
UPDATE payment SET voided_at = @voided_at::timestamptz, void_reason = @void_reason WHERE id = @id;

-- Sales of which something is due, the oldest first.
-- name: ListDue :many
SELECT id, piece_id, sold_at FROM sale WHERE due > 0 AND (sold_at, id) > (@after_time::timestamptz, @after_sale::uuid) ORDER BY sold_at, id LIMIT @page_limit;

-- name: GetCashStep :one
SELECT cash_step, version FROM sale_settings;

-- name: SaveCashStep :exec
UPDATE sale_settings SET cash_step = @cash_step, version = @version;

-- The number of the next receipt is taken under the lock of the settings, so that none is left out and none is there twice.
-- name: CountReceipt :exec
UPDATE sale_settings SET receipts = receipts + 1;

-- name: InsertReceipt :exec
INSERT INTO receipt (number, sale_id, set_id) SELECT receipts, sqlc.narg(sale_id)::uuid, sqlc.narg(set_id)::uuid FROM sale_settings;

-- The pieces on the receipt of a sale in order: that of the sale, or those of its set.
-- name: GetReceipt :many
SELECT receipt.number, sold.piece_id, sold.id AS sale_id, coalesce(past_piece.title, '') AS title
FROM sale AS asked JOIN receipt ON receipt.sale_id = asked.id OR receipt.set_id = asked.set_id
    JOIN sale AS sold ON sold.id = asked.id OR sold.set_id = asked.set_id
    LEFT JOIN past_piece ON past_piece.piece_id = sold.piece_id
WHERE asked.id = @sale_id ORDER BY sold.set_place;
