-- name: NextTag :one
UPDATE tag_counter SET last = last + 1 RETURNING last;

-- name: KeepTag :exec
UPDATE tag_counter SET last = greatest(last, @tag::integer);

-- name: InsertPiece :exec
INSERT INTO piece (id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id, size, condition, prospect_id, client_id)
VALUES (@id, @tag, @title, @kind, @price, @source, @purchase_date, @client, @state, @scrap_reason, @taken_in_at, @version, @lot_id, @size, @condition, @prospect_id, @client_id);

-- name: InsertPart :exec
INSERT INTO part (id, piece_id, position, label, count, length, length_unit, width, width_unit, thickness, thickness_unit)
VALUES (@id, @piece_id, @position, @label, @count, @length, @length_unit, @width, @width_unit, @thickness, @thickness_unit);

-- name: UpdatePiece :exec
UPDATE piece SET state = @state, scrap_reason = @scrap_reason, version = @version WHERE id = @id;

-- name: SetPrices :exec
UPDATE piece SET price = now.price
FROM (SELECT unnest(@ids::uuid[]) AS id, unnest(@prices::bigint[]) AS price) AS now WHERE piece.id = now.id;

-- name: LockPiece :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id, size, condition, prospect_id, client_id
FROM piece WHERE id = @id FOR UPDATE;

-- name: GetPiece :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id, size, condition, prospect_id, client_id
FROM piece WHERE id = @id;

-- name: GetPieceByTag :one
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id, size, condition, prospect_id, client_id
FROM piece WHERE tag = @tag;

-- name: ListPieces :many
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id, size, condition, prospect_id, client_id
FROM piece WHERE tag > @after_tag
    AND (@client::uuid = '00000000-0000-0000-0000-000000000000' OR client_id = @client
        OR id IN (SELECT piece_id FROM commission WHERE commission.client_id = @client))
ORDER BY tag LIMIT @page_limit;

-- name: LatestOfKind :many
SELECT id, tag, title, kind, price, source, purchase_date, client, state, scrap_reason, taken_in_at, version, lot_id, size, condition, prospect_id, client_id
FROM piece WHERE lower(kind) = lower(@kind) AND size IN ('', @size) ORDER BY tag DESC LIMIT @most;

-- name: ListParts :many
SELECT id, piece_id, position, label, count, length, length_unit, width, width_unit, thickness, thickness_unit
FROM part WHERE piece_id = ANY (@piece_ids::uuid[]) ORDER BY piece_id, position;

-- name: InsertLot :exec
INSERT INTO lot (id, source, purchase_date, on_scrap, taken_in_at)
VALUES (@id, @source, @purchase_date, @on_scrap, @taken_in_at);

-- name: InsertTerms :exec
INSERT INTO lot_terms (lot_id, version, price, split, reason, set_at)
VALUES (@lot_id, @version, @price, @split, @reason, @set_at);

-- name: InsertShares :exec
INSERT INTO lot_share (lot_id, version, position, piece_id, weight, share)
SELECT @lot_id::uuid, @version::bigint, unnest(@positions::integer[]), unnest(@piece_ids::uuid[]), unnest(@weights::bigint[]), unnest(@shares::bigint[]);

-- name: LockLot :exec
SELECT FROM lot WHERE id = @id FOR UPDATE;

-- name: GetLot :many
SELECT id, source, purchase_date, on_scrap, taken_in_at FROM lot WHERE id = @id;

-- name: ListLots :many
SELECT id, source, purchase_date, on_scrap, taken_in_at FROM lot WHERE id > @after ORDER BY id LIMIT @page_limit;

-- name: ListTerms :many
SELECT lot_id, version, price, split, reason, set_at FROM lot_terms WHERE lot_id = ANY (@lots::uuid[]) ORDER BY lot_id, version;

-- name: ListShares :many
SELECT lot_share.lot_id, lot_share.version, piece_id, tag, title, state, weight, share
FROM lot_share JOIN piece ON piece.id = piece_id
WHERE lot_share.lot_id = ANY (@lots::uuid[]) ORDER BY lot_share.lot_id, lot_share.version, position;

-- name: UsePhotoFile :exec
INSERT INTO photo_file (sha256, width, height, size_bytes, used_at) VALUES (@sha256, @width, @height, @size_bytes, @used_at)
ON CONFLICT (sha256) DO UPDATE SET used_at = greatest(photo_file.used_at, excluded.used_at), swept_at = NULL;

-- name: TouchPhotoFile :exec
UPDATE photo_file SET used_at = greatest(used_at, @used_at) WHERE sha256 = @sha256;

-- name: LockUnusedPhotoFile :many
SELECT sha256 FROM photo_file
WHERE swept_at IS NULL AND used_at < @before AND NOT EXISTS (SELECT FROM photo WHERE photo.sha256 = photo_file.sha256 AND removed_at IS NULL)
ORDER BY used_at LIMIT 1 FOR UPDATE SKIP LOCKED;

-- name: SweptPhotoFile :exec
UPDATE photo_file SET swept_at = @swept_at WHERE sha256 = @sha256;

-- name: LastPhotoNumber :one
SELECT coalesce(max(number), 0)::integer FROM photo WHERE piece_id = @piece_id;

-- name: InsertPhoto :exec
INSERT INTO photo (id, piece_id, number, part_id, moment, note, stage_id, inspection_id, taken_at, added_at, added_by, sha256, version)
VALUES (@id, @piece_id, @number, @part_id, @moment, @note, @stage_id, @inspection_id, @taken_at, @added_at, @added_by, @sha256, @version);

-- name: UpdatePhoto :exec
UPDATE photo SET moment = @moment, note = @note, remove_reason = @remove_reason, removed_by = @removed_by, removed_at = @removed_at, version = @version WHERE id = @id;

-- name: LockPhoto :exec
SELECT FROM photo WHERE id = @id FOR UPDATE;

-- name: GetPhoto :many
SELECT sqlc.embed(photo), sqlc.embed(photo_file), tag, coalesce(label, '')::text AS part_label
FROM photo JOIN photo_file USING (sha256) JOIN piece ON piece.id = photo.piece_id LEFT JOIN part ON part.id = part_id
WHERE photo.id = @id;

-- name: ShownPhoto :many
SELECT id FROM photo WHERE piece_id = @piece_id AND sha256 = @sha256 AND removed_at IS NULL;

-- name: ListPhotos :many
SELECT sqlc.embed(photo), sqlc.embed(photo_file), tag, coalesce(label, '')::text AS part_label
FROM photo JOIN photo_file USING (sha256) JOIN piece ON piece.id = photo.piece_id LEFT JOIN part ON part.id = part_id
WHERE photo.piece_id = @piece_id AND number > @after AND (@show_removed::boolean OR removed_at IS NULL) AND (@moment::text = '' OR moment = @moment)
ORDER BY number LIMIT @page_limit;

-- name: NextProspectNumber :one
UPDATE prospect_counter SET last = last + 1 RETURNING last;

-- name: InsertProspect :exec
INSERT INTO prospect (id, number, state, sighting, parts, advice, seen_at, version)
VALUES (@id, @number, @state, @sighting, @parts, @advice, @seen_at, @version);

-- name: CloseProspect :exec
UPDATE prospect SET state = @state, piece_id = @piece_id, paid = @paid, decline_reason = @decline_reason, version = @version WHERE id = @id;

-- name: LockProspect :exec
SELECT FROM prospect WHERE id = @id FOR UPDATE;

-- name: GetProspect :many
SELECT sqlc.embed(prospect), coalesce(tag, 0)::integer AS piece_tag
FROM prospect LEFT JOIN piece ON piece.id = piece_id
WHERE prospect.id = @id;

-- name: ListProspects :many
SELECT sqlc.embed(prospect), coalesce(tag, 0)::integer AS piece_tag
FROM prospect LEFT JOIN piece ON piece.id = piece_id
WHERE number < @before AND (@state::text = '' OR prospect.state = @state)
ORDER BY number DESC LIMIT @page_limit;

-- name: BuyingTerms :one
SELECT target_per_hour, chance, labour_per_hour, travel_per_km, km_per_hour, handling_minutes, version FROM buying_terms;

-- name: LockBuyingTerms :exec
SELECT FROM buying_terms FOR UPDATE;

-- name: SetBuyingTerms :exec
UPDATE buying_terms SET target_per_hour = @target_per_hour, chance = @chance, labour_per_hour = @labour_per_hour, travel_per_km = @travel_per_km,
    km_per_hour = @km_per_hour, handling_minutes = @handling_minutes, version = @version;

-- name: NextRecordNumber :one
UPDATE record_counter SET last = last + 1 WHERE what = @what RETURNING last;

-- name: InsertClient :exec
INSERT INTO client (id, number, display_name, phone, email, address, exempt_reason, exempt_number, retired, added_at, version)
VALUES (@id, @number, @display_name, @phone, @email, @address, @exempt_reason, @exempt_number, @retired, @added_at, @version);

-- name: UpdateClient :exec
UPDATE client SET display_name = @display_name, phone = @phone, email = @email, address = @address, exempt_reason = @exempt_reason,
    exempt_number = @exempt_number, retired = @retired, version = @version WHERE id = @id;

-- name: LockClient :exec
SELECT FROM client WHERE id = @id FOR UPDATE;

-- name: GetClient :many
SELECT id, number, display_name, phone, email, address, exempt_reason, exempt_number, retired, added_at, version FROM client WHERE id = @id;

-- name: ListClients :many
SELECT id, number, display_name, phone, email, address, exempt_reason, exempt_number, retired, added_at, version
FROM client WHERE number > @after AND (@show_retired::boolean OR NOT retired) ORDER BY number LIMIT @page_limit;

-- name: InsertCommission :exec
INSERT INTO commission (id, number, client_id, piece_id, description, state, approved_version, settlement, begun_at, version)
VALUES (@id, @number, @client_id, @piece_id, @description, @state, @approved_version, @settlement, @begun_at, @version);

-- name: UpdateCommission :exec
UPDATE commission SET piece_id = @piece_id, state = @state, approved_version = @approved_version, settlement = @settlement, finish = @finish, version = @version WHERE id = @id;

-- name: LockCommission :exec
SELECT FROM commission WHERE id = @id FOR UPDATE;

-- name: GetCommission :many
SELECT sqlc.embed(commission), client.number AS client_number, display_name, coalesce(tag, 0)::integer AS piece_tag
FROM commission JOIN client ON client.id = commission.client_id LEFT JOIN piece ON piece.id = piece_id
WHERE commission.id = @id;

-- name: ListCommissions :many
SELECT sqlc.embed(commission), client.number AS client_number, display_name, coalesce(tag, 0)::integer AS piece_tag
FROM commission JOIN client ON client.id = commission.client_id LEFT JOIN piece ON piece.id = piece_id
WHERE commission.number < @before AND (@state::text = '' OR commission.state = @state)
    AND (@client_id::uuid = '00000000-0000-0000-0000-000000000000' OR commission.client_id = @client_id)
    AND (@piece_id::uuid = '00000000-0000-0000-0000-000000000000' OR commission.piece_id = @piece_id)
ORDER BY commission.number DESC LIMIT @page_limit;

-- name: PutEstimate :exec
INSERT INTO estimate (commission_id, version, body, answer) VALUES (@commission_id, @version, @body, @answer)
ON CONFLICT ON CONSTRAINT estimate_once DO UPDATE SET answer = excluded.answer;

-- name: ListEstimates :many
SELECT commission_id, version, body, answer FROM estimate WHERE commission_id = ANY (@commissions::uuid[]) ORDER BY commission_id, version;

-- name: NewestEstimates :many
SELECT DISTINCT ON (commission_id) commission_id, version, body, answer FROM estimate WHERE commission_id = ANY (@commissions::uuid[]) ORDER BY commission_id, version DESC;

-- name: ApprovedPieces :many
SELECT commission.id, piece_id::uuid AS piece_id, begun_at FROM commission
WHERE commission.state = 'approved' AND piece_id IS NOT NULL
    AND (@piece::uuid = '00000000-0000-0000-0000-000000000000' OR piece_id = @piece)
ORDER BY number;

-- name: PutChangeOrder :exec
INSERT INTO change_order (commission_id, number, state, body, answer) VALUES (@commission_id, @number, @state, @body, @answer)
ON CONFLICT ON CONSTRAINT change_order_once DO UPDATE SET state = excluded.state, answer = excluded.answer;

-- name: ListChangeOrders :many
SELECT commission_id, number, state, body, answer FROM change_order WHERE commission_id = ANY (@commissions::uuid[]) ORDER BY commission_id, number;

-- name: CommissionTerms :one
SELECT rate, markup, tax, deposit, valid_days, cancel_rule, cancel_percent, labour_untaxed, version FROM commission_terms;

-- name: LockCommissionTerms :exec
SELECT FROM commission_terms FOR UPDATE;

-- name: SetCommissionTerms :exec
UPDATE commission_terms SET rate = @rate, markup = @markup, tax = @tax, deposit = @deposit, valid_days = @valid_days, cancel_rule = @cancel_rule,
    cancel_percent = @cancel_percent, labour_untaxed = @labour_untaxed, version = @version;

-- name: Letterhead :one
SELECT shop_name, address, phone, email, web, tax_number, closing, paper, version FROM letterhead;

-- name: LockLetterhead :exec
SELECT FROM letterhead FOR UPDATE;

-- name: SetLetterhead :exec
UPDATE letterhead SET shop_name = @shop_name, address = @address, phone = @phone, email = @email, web = @web, tax_number = @tax_number, closing = @closing,
    paper = @paper, version = @version;

-- name: SaveAssessment :exec
INSERT INTO part_assessment (part_id, material, species, veneer, veneer_unit, old_finish, waxed, old_stain, painted_in, decade, condition, defects, note,
    assessed_by, assessed_at, version)
VALUES (@part_id, @material, @species, @veneer, @veneer_unit, @old_finish, @waxed, @old_stain, @painted_in, @decade, @condition, @defects, @note,
    @assessed_by, @assessed_at, @version)
ON CONFLICT (part_id) DO UPDATE SET material = excluded.material, species = excluded.species, veneer = excluded.veneer, veneer_unit = excluded.veneer_unit,
    old_finish = excluded.old_finish, waxed = excluded.waxed, old_stain = excluded.old_stain, painted_in = excluded.painted_in, decade = excluded.decade,
    condition = excluded.condition, defects = excluded.defects, note = excluded.note, assessed_by = excluded.assessed_by, assessed_at = excluded.assessed_at,
    version = excluded.version;

-- name: ListAssessments :many
SELECT sqlc.embed(part_assessment) FROM part_assessment JOIN part ON part.id = part_id WHERE piece_id = @piece_id;
