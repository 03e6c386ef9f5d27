-- name: MakeListing :exec
INSERT INTO listing (piece_id, tag, state, channel, asking_price, version)
VALUES (@piece_id, @tag, @state, @channel, @asking_price, @version)
ON CONFLICT (piece_id) DO NOTHING;

-- name: LockListing :exec
SELECT FROM listing WHERE piece_id = @piece_id FOR UPDATE;

-- name: UpdateListing :exec
UPDATE listing SET state = @state, channel = @channel, asking_price = @asking_price, version = @version
WHERE piece_id = @piece_id;

-- name: InsertSale :exec
INSERT INTO sale (id, piece_id, position, channel, buyer, price, tax, fee, sold_at, set_id, set_place, set_weight)
VALUES (@id, @piece_id, @position, @channel, @buyer, @price, @tax, @fee, @sold_at, @set_id, @set_place, @set_weight);

-- name: UpdateSale :exec
UPDATE sale SET price_refunded = @price_refunded, tax_refunded = @tax_refunded, fee_returned = @fee_returned,
    piece_returned = @piece_returned
WHERE id = @id;

-- name: InsertRefund :exec
INSERT INTO refund (id, sale_id, price, tax, fee, piece_returned, reason, refunded_at)
VALUES (@id, @sale_id, @price, @tax, @fee, @piece_returned, @reason, @refunded_at);

-- name: PieceOfSale :one
SELECT piece_id FROM sale WHERE id = @id;

-- name: GetListing :many
-- A listing and its sales are read by one statement, so that they are of one moment: a
-- row for each sale, and one row without a sale for a listing that has none.
SELECT listing.piece_id, tag, state, listing.channel, asking_price, version,
    sale.id AS sale_id, sale.channel AS sale_channel, buyer, price, tax, fee, sold_at,
    price_refunded, tax_refunded, fee_returned, piece_returned, set_id, set_place, set_weight
FROM listing LEFT JOIN sale ON sale.piece_id = listing.piece_id
WHERE listing.piece_id = @piece_id ORDER BY position;

-- name: ListListings :many
SELECT listing.piece_id, tag, state, listing.channel, asking_price, version,
    sale.id AS sale_id, sale.channel AS sale_channel, buyer, price, tax, fee, sold_at,
    price_refunded, tax_refunded, fee_returned, piece_returned, set_id, set_place, set_weight
FROM listing LEFT JOIN sale ON sale.piece_id = listing.piece_id
WHERE listing.piece_id IN (
    SELECT page.piece_id FROM listing AS page
    WHERE (page.tag, page.piece_id) > (@after_tag::integer, @after_piece::uuid)
    ORDER BY page.tag, page.piece_id LIMIT @page_limit)
ORDER BY tag, listing.piece_id, position;

-- name: InsertSet :exec
INSERT INTO sale_set (id, channel, buyer, price, tax, fee, sold_at)
VALUES (@id, @channel, @buyer, @price, @tax, @fee, @sold_at);

-- name: GetSet :many
-- A set and its sales are read by one statement, so that they are of one moment: a row for each.
SELECT sale_set.id, sale_set.channel, sale_set.buyer, sale_set.price, sale_set.tax, sale_set.fee, sale_set.sold_at,
    sale.id AS sale_id, sale.piece_id, tag, sale.price AS share_of_price, sale.tax AS share_of_tax, sale.fee AS share_of_fee,
    price_refunded, tax_refunded, fee_returned, piece_returned, set_place, set_weight
FROM sale_set JOIN sale ON sale.set_id = sale_set.id JOIN listing ON listing.piece_id = sale.piece_id
WHERE sale_set.id = @id ORDER BY set_place;
