-- All that is known of some lots, and of those that some pieces are of.
-- name: LotsOf :many
SELECT t.lot_id, t.version, event_id, price, takes_over, occurred_at, recorded_at, piece_id, weight
FROM lot_terms t JOIN lot_share s ON s.lot_id = t.lot_id AND s.version = t.version
WHERE t.lot_id = ANY (@lots::uuid[]) OR t.lot_id IN (SELECT o.lot_id FROM lot_share o WHERE o.piece_id = ANY (@pieces::uuid[]))
ORDER BY t.lot_id, t.version, position;

-- name: InsertLotTerms :exec
INSERT INTO lot_terms (lot_id, version, event_id, price, takes_over, occurred_at, recorded_at)
VALUES (@lot_id, @version, @event_id, @price, @takes_over, @occurred_at, @recorded_at);

-- name: InsertLotShares :exec
INSERT INTO lot_share (lot_id, version, position, piece_id, weight)
SELECT @lot_id::uuid, @version::bigint, unnest(@positions::integer[]), unnest(@pieces::uuid[]), unnest(@weights::bigint[]);

-- name: InsertCorrection :exec
INSERT INTO correction (event_id, reason) VALUES (@event_id, @reason);

-- name: CorrectionsOf :many
SELECT event_id, reason FROM correction WHERE event_id = ANY (@events::uuid[]) ORDER BY event_id;
