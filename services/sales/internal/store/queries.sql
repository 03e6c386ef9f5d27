-- name: MakeListing :exec
INSERT INTO listing (piece_id, tag, state, channel, asking_price, version)
VALUES (@piece_id, @tag, @state, @channel, @asking_price, @version)
ON CONFLICT (piece_id) DO NOTHING;

-- name: LockListing :exec
SELECT FROM listing WHERE piece_id = @piece_id FOR UPDATE;

-- name: UpdateListing :exec
UPDATE listing SET state = @state, channel = @channel, asking_price = @asking_price, version = @version,
    other_channels = @other_channels, withdrawn_at = sqlc.narg(withdrawn_at), withdraw_reason = @withdraw_reason
WHERE piece_id = @piece_id;

-- name: InsertSale :exec
INSERT INTO sale (id, piece_id, position, channel, buyer, price, tax, fee, sold_at, set_id, set_place, set_weight, fee_from_channel, deposit)
VALUES (@id, @piece_id, @position, @channel, @buyer, @price, @tax, @fee, @sold_at, @set_id, @set_place, @set_weight, @fee_from_channel, @deposit);

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
SELECT listing.piece_id, tag, listing.state, listing.channel, asking_price, version, other_channels, withdrawn_at, withdraw_reason,
    sale.id AS sale_id, sale.channel AS sale_channel, sale.buyer, sale.price, tax, fee, sold_at,
    price_refunded, tax_refunded, fee_returned, piece_returned, set_id, set_place, set_weight, fee_from_channel, sale.deposit,
    hold.id AS hold_id, hold.buyer AS hold_buyer, hold.price AS hold_price, hold.held_at, hold.until_at, hold.lapse_rule
FROM listing LEFT JOIN sale ON sale.piece_id = listing.piece_id LEFT JOIN hold ON hold.piece_id = listing.piece_id AND hold.state = 'open'
WHERE listing.piece_id = @piece_id ORDER BY position;

-- name: ListListings :many
SELECT listing.piece_id, tag, listing.state, listing.channel, asking_price, version, other_channels, withdrawn_at, withdraw_reason,
    sale.id AS sale_id, sale.channel AS sale_channel, sale.buyer, sale.price, tax, fee, sold_at,
    price_refunded, tax_refunded, fee_returned, piece_returned, set_id, set_place, set_weight, fee_from_channel, sale.deposit,
    hold.id AS hold_id, hold.buyer AS hold_buyer, hold.price AS hold_price, hold.held_at, hold.until_at, hold.lapse_rule
FROM listing LEFT JOIN sale ON sale.piece_id = listing.piece_id LEFT JOIN hold ON hold.piece_id = listing.piece_id AND hold.state = 'open'
WHERE listing.piece_id IN (
    SELECT page.piece_id FROM listing AS page
    WHERE (page.tag, page.piece_id) > (@after_tag::integer, @after_piece::uuid)
        AND (cardinality(@of_pieces::uuid[]) = 0 OR page.piece_id = ANY (@of_pieces::uuid[]))
        AND (NOT @only_listed::boolean OR page.state = 'listed')
    ORDER BY page.tag, page.piece_id LIMIT @page_limit)
ORDER BY tag, listing.piece_id, position;

-- name: InsertSet :exec
INSERT INTO sale_set (id, channel, buyer, price, tax, fee, sold_at, fee_from_channel)
VALUES (@id, @channel, @buyer, @price, @tax, @fee, @sold_at, @fee_from_channel);

-- name: GetSet :many
-- A set and its sales are read by one statement, so that they are of one moment: a row for each.
SELECT sale_set.id, sale_set.channel, sale_set.buyer, sale_set.price, sale_set.tax, sale_set.fee, sale_set.sold_at, sale_set.fee_from_channel,
    sale.id AS sale_id, sale.piece_id, tag, sale.price AS share_of_price, sale.tax AS share_of_tax, sale.fee AS share_of_fee, sale.deposit AS share_paid_before,
    price_refunded, tax_refunded, fee_returned, piece_returned, set_place, set_weight
FROM sale_set JOIN sale ON sale.set_id = sale_set.id JOIN listing ON listing.piece_id = sale.piece_id
WHERE sale_set.id = @id ORDER BY set_place;

-- A row that is noted has the number that the past comes to when all of a batch are noted: nobody else
-- notes meanwhile.
-- name: NotePieceTakenIn :exec
INSERT INTO past_piece (piece_id, tag, title, origin, kind, size, condition, changed)
SELECT @piece_id, @tag, @title, @origin, @kind, @size, @condition, n + 1 FROM past_stamp
ON CONFLICT (piece_id) DO UPDATE SET tag = excluded.tag, title = excluded.title, origin = excluded.origin, kind = excluded.kind,
    size = excluded.size, condition = excluded.condition, changed = excluded.changed;

-- name: NotePieceScrapped :exec
INSERT INTO past_piece (piece_id, scrapped_at, changed) SELECT @piece_id, @scrapped_at::timestamptz, n + 1 FROM past_stamp
ON CONFLICT (piece_id) DO UPDATE SET scrapped_at = excluded.scrapped_at, changed = excluded.changed;

-- name: NoteLook :exec
INSERT INTO past_piece (piece_id, look, changed) SELECT @piece_id, @look, n + 1 FROM past_stamp
ON CONFLICT (piece_id) DO UPDATE SET look = excluded.look, changed = excluded.changed;

-- name: NoteListed :exec
INSERT INTO past_stretch (piece_id, spell, stretch, channel, asked, from_at, changed)
SELECT @piece_id, 1 + (SELECT coalesce(max(spell), 0) FROM past_stretch before WHERE before.piece_id = @piece_id), 1, @channel, @asked, @from_at, n + 1
FROM past_stamp;

-- name: EndStretch :exec
UPDATE past_stretch SET to_at = @to_at::timestamptz, ended = @ended, changed = past_stamp.n + 1
FROM past_stamp WHERE piece_id = @piece_id AND to_at IS NULL;

-- The piece is asked for at another price from where its latest stretch ended.
-- name: NoteAskedOtherwise :exec
INSERT INTO past_stretch (piece_id, spell, stretch, channel, asked, from_at, changed)
SELECT before.piece_id, before.spell, before.stretch + 1, before.channel, @asked, @from_at, past_stamp.n + 1 FROM past_stretch before, past_stamp
WHERE before.piece_id = @piece_id ORDER BY before.spell DESC, before.stretch DESC LIMIT 1;

-- Its spell is the one that runs; it is to be ended afterwards.
-- name: NoteSold :exec
INSERT INTO past_sale (sale_id, piece_id, spell, channel, sold_at, price, set_id, changed)
SELECT @sale_id, @piece_id, (SELECT coalesce(max(spell), 0) FROM past_stretch runs WHERE runs.piece_id = @piece_id AND runs.to_at IS NULL),
    @channel, @sold_at, @price, @set_id, n + 1
FROM past_stamp;

-- name: NoteRefunded :exec
UPDATE past_sale SET refunded = refunded + @refunded, returned = returned OR @returned, changed = past_stamp.n + 1
FROM past_stamp WHERE sale_id = @sale_id;

-- name: BumpPast :exec
UPDATE past_stamp SET n = n + 1;

-- name: ForgetPastPieces :exec
DELETE FROM past_piece;

-- name: ForgetPastStretches :exec
DELETE FROM past_stretch;

-- name: ForgetPastSales :exec
DELETE FROM past_sale;

-- name: BeginPastAnew :exec
UPDATE past_stamp SET n = n + 1, epoch = gen_random_uuid();

-- name: ChangedPieces :many
SELECT piece_id, tag, title, origin = 'stock' AS stock, kind, size, condition, look, scrapped_at FROM past_piece WHERE changed > @after ORDER BY changed, piece_id;

-- name: ChangedStretches :many
SELECT piece_id, spell, stretch, channel, asked, from_at, to_at, ended = 'sold' AS sold FROM past_stretch WHERE changed > @after
ORDER BY changed, piece_id, spell, stretch;

-- name: ChangedSales :many
SELECT sale_id, piece_id, spell, channel, sold_at, price, refunded, returned, set_id FROM past_sale WHERE changed > @after ORDER BY changed, sale_id;

-- name: GetPastPiece :one
SELECT tag, title, origin, kind, size, condition, look, (scrapped_at IS NOT NULL)::boolean AS scrapped FROM past_piece WHERE piece_id = @piece_id;

-- Since when a piece is up for sale, and at what is asked now, and how often it was marked down; of one that is.
-- name: GetRunningStretch :one
SELECT now.from_at AS asked_at, first.from_at AS listed_at,
    (SELECT count(*) FROM past_stretch s JOIN past_stretch b ON b.piece_id = s.piece_id AND b.spell = s.spell AND b.stretch = s.stretch - 1
     WHERE s.piece_id = now.piece_id AND s.spell = now.spell AND s.asked < b.asked)::integer AS markdowns
FROM past_stretch now JOIN past_stretch first ON first.piece_id = now.piece_id AND first.spell = now.spell AND first.stretch = 1
WHERE now.piece_id = @piece_id AND now.to_at IS NULL;

-- Whether a producer came back from a backup, and its log is read anew: until that is done only some of the past is noted.
-- name: IsPastReadAnew :one
SELECT EXISTS (SELECT FROM source WHERE restoring)::boolean AS read_anew;

-- The terms, and what the past has come to.
-- name: GetSellingTerms :one
SELECT past_stamp.n AS stamp, epoch, holding_small, holding_medium, holding_large, fee_percent, days_between_markdowns, most_markdowns, horizon_days, salvage_percent, version
FROM selling_terms, past_stamp;

-- name: GetSellingBeliefs :many
SELECT kind_key, kind, low, high, days_likely FROM selling_belief ORDER BY position;

-- name: LockSellingTerms :exec
SELECT FROM selling_terms FOR UPDATE;

-- name: SaveSellingTerms :exec
UPDATE selling_terms SET holding_small = sqlc.narg(holding_small), holding_medium = sqlc.narg(holding_medium), holding_large = sqlc.narg(holding_large), fee_percent = @fee_percent,
    days_between_markdowns = sqlc.narg(days_between_markdowns), most_markdowns = sqlc.narg(most_markdowns), horizon_days = sqlc.narg(horizon_days),
    salvage_percent = sqlc.narg(salvage_percent), version = @version;

-- name: ForgetSellingBeliefs :exec
DELETE FROM selling_belief;

-- name: AddSellingBelief :exec
INSERT INTO selling_belief (kind_key, position, kind, low, high, days_likely) VALUES (@kind_key, @position, @kind, @low, @high, @days_likely);

-- name: MakeChannel :exec
INSERT INTO channel (id, name_key, display_name, kind, web_address, retired, has_fees, percent, fixed, whole_price, minimum, with_tax, version)
VALUES (@id, @name_key, @display_name, '', '', false, false, 0, 0, false, 0, false, 0)
ON CONFLICT (name_key) DO NOTHING;

-- name: LockChannelByKey :exec
SELECT FROM channel WHERE name_key = @name_key FOR UPDATE;

-- name: LockChannel :exec
SELECT FROM channel WHERE id = @id FOR UPDATE;

-- Channels by name, with their tiers in order: a row for each tier, and one for a channel that has none. Of those named, by id or
-- by name; of none: all after one.
-- name: ListChannels :many
SELECT channel.id, name_key, display_name, kind, web_address, retired, has_fees, channel.percent, fixed, whole_price, minimum, most, with_tax, version,
    from_price, channel_tier.percent AS tier_percent
FROM channel LEFT JOIN channel_tier ON channel_tier.channel_id = channel.id
WHERE channel.id IN (
    SELECT page.id FROM channel AS page
    WHERE page.name_key > @after_key AND (@show_retired::boolean OR NOT page.retired)
        AND (cardinality(@ids::uuid[]) = 0 OR page.id = ANY (@ids::uuid[]))
        AND (cardinality(@keys::text[]) = 0 OR page.name_key = ANY (@keys::text[]))
    ORDER BY page.name_key LIMIT @page_limit)
ORDER BY name_key, from_price;

-- name: UpdateChannel :exec
UPDATE channel SET display_name = @display_name, kind = @kind, web_address = @web_address, retired = @retired, has_fees = @has_fees,
    percent = @percent, fixed = @fixed, whole_price = @whole_price, minimum = @minimum, most = sqlc.narg(most), with_tax = @with_tax, version = @version
WHERE id = @id;

-- name: ForgetTiers :exec
DELETE FROM channel_tier WHERE channel_id = @channel_id;

-- name: AddTier :exec
INSERT INTO channel_tier (channel_id, from_price, percent) VALUES (@channel_id, @from_price, @percent);

-- A plan with its steps in order: a row for each.
-- name: GetMarkdownPlan :many
SELECT plan.state AS plan_state, least_price, from_advice, set_at, on_day, asking_price, step.state, done_at
FROM markdown_plan plan JOIN markdown_step step ON step.piece_id = plan.piece_id
WHERE plan.piece_id = @piece_id ORDER BY on_day;

-- name: SaveMarkdownPlan :exec
INSERT INTO markdown_plan (piece_id, state, least_price, from_advice, set_at) VALUES (@piece_id, @state, @least_price, @from_advice, @set_at)
ON CONFLICT (piece_id) DO UPDATE SET state = excluded.state, least_price = excluded.least_price, from_advice = excluded.from_advice, set_at = excluded.set_at;

-- name: ForgetMarkdownSteps :exec
DELETE FROM markdown_step WHERE piece_id = @piece_id;

-- name: AddMarkdownStep :exec
INSERT INTO markdown_step (piece_id, on_day, asking_price, state, done_at) VALUES (@piece_id, @on_day, @asking_price, @state, sqlc.narg(done_at));

-- With the listing its plan ends, and with the plan its steps.
-- name: EndMarkdownPlan :exec
WITH over AS (UPDATE markdown_plan SET state = 'ended' WHERE markdown_plan.piece_id = @piece_id AND state = 'running' RETURNING markdown_plan.piece_id)
UPDATE markdown_step SET state = 'ended' FROM over WHERE markdown_step.piece_id = over.piece_id AND markdown_step.state = 'planned';

-- Pieces of which a step is due by a day: one that is planned is of a plan that runs, of a listed piece.
-- What was scrapped while it was listed is asked for at no price.
-- name: PiecesWithMarkdownDue :many
SELECT DISTINCT step.piece_id FROM markdown_step step
    LEFT JOIN past_piece ON past_piece.piece_id = step.piece_id
WHERE step.state = 'planned' AND step.on_day <= @today AND scrapped_at IS NULL
    AND NOT EXISTS (SELECT FROM hold WHERE hold.piece_id = step.piece_id AND hold.state = 'open')
ORDER BY step.piece_id;

-- name: InsertHold :exec
INSERT INTO hold (id, piece_id, state, buyer, price, held_at, until_at, lapse_rule)
VALUES (@id, @piece_id, @state, @buyer, @price, @held_at, @until_at, @lapse_rule);

-- name: UpdateHold :exec
UPDATE hold SET state = @state, until_at = @until_at, lapse_rule = @lapse_rule, ended_at = sqlc.narg(ended_at), reason = @reason WHERE id = @id;

-- name: PieceOfHold :one
SELECT piece_id FROM hold WHERE id = @id;

-- name: GetHold :one
SELECT hold.id, hold.piece_id, tag, hold.state, buyer, price, held_at, until_at, lapse_rule, ended_at, reason
FROM hold JOIN listing ON listing.piece_id = hold.piece_id WHERE hold.id = @id;

-- name: ListHolds :many
SELECT hold.id, hold.piece_id, tag, hold.state, buyer, price, held_at, until_at, lapse_rule, ended_at, reason
FROM hold JOIN listing ON listing.piece_id = hold.piece_id
WHERE hold.id < @before_id AND (sqlc.narg(of_piece)::uuid IS NULL OR hold.piece_id = sqlc.narg(of_piece)::uuid)
    AND (@in_state::text = '' OR hold.state = @in_state::text)
ORDER BY hold.id DESC LIMIT @page_limit;

-- name: HoldsPast :many
SELECT piece_id FROM hold WHERE state = 'open' AND until_at <= @now ORDER BY until_at, piece_id;

-- name: InsertDeposit :exec
INSERT INTO deposit (id, piece_id, hold_id, state, given_by, amount, method, taken_at)
VALUES (@id, @piece_id, @hold_id, @state, @given_by, @amount, @method, @taken_at);

-- name: UpdateDeposit :exec
UPDATE deposit SET state = @state, used = @used, returned = @returned, kept = @kept WHERE id = @id;

-- name: PieceOfDeposit :one
SELECT piece_id FROM deposit WHERE id = @id;

-- name: ListDeposits :many
SELECT deposit.id, deposit.piece_id, tag, hold_id, deposit.state, given_by, amount, method, taken_at, used, returned, kept
FROM deposit JOIN listing ON listing.piece_id = deposit.piece_id
WHERE deposit.id < @before_id AND (sqlc.narg(of_piece)::uuid IS NULL OR deposit.piece_id = sqlc.narg(of_piece)::uuid)
    AND (@in_state::text = '' OR deposit.state = @in_state::text)
    AND (cardinality(@of_holds::uuid[]) = 0 OR hold_id = ANY (@of_holds::uuid[]))
ORDER BY deposit.id DESC LIMIT @page_limit;

-- name: InsertOffer :exec
INSERT INTO offer (id, piece_id, state, buyer, price, channel, offered_at, until_at, note)
VALUES (@id, @piece_id, @state, @buyer, @price, @channel, @offered_at, sqlc.narg(until_at), @note);

-- name: UpdateOffer :exec
UPDATE offer SET state = @state, counter_price = @counter_price, until_at = sqlc.narg(until_at), ended_at = sqlc.narg(ended_at), reason = @reason,
    hold_id = @hold_id
WHERE id = @id;

-- name: PieceOfOffer :one
SELECT piece_id FROM offer WHERE id = @id;

-- name: ListOffers :many
-- An open offer whose time is over has lapsed, and nobody writes that down.
SELECT offer.id, offer.piece_id, tag, offer.state, buyer, price, counter_price, offer.channel, offered_at, until_at, note, ended_at, reason, hold_id
FROM offer JOIN listing ON listing.piece_id = offer.piece_id
WHERE offer.id < @before_id AND (sqlc.narg(of_piece)::uuid IS NULL OR offer.piece_id = sqlc.narg(of_piece)::uuid)
    AND (@in_state::text = ''
        OR CASE WHEN offer.state IN ('open', 'countered') AND offer.until_at <= @now THEN 'lapsed' ELSE offer.state END = @in_state::text)
ORDER BY offer.id DESC LIMIT @page_limit;

-- name: OpenOffers :many
SELECT offer.id, offer.piece_id, tag, offer.state, buyer, price, counter_price, offer.channel, offered_at, until_at, note, ended_at, reason, hold_id
FROM offer JOIN listing ON listing.piece_id = offer.piece_id
WHERE offer.piece_id = @piece_id AND offer.state IN ('open', 'countered') AND (until_at IS NULL OR until_at > @now::timestamptz) ORDER BY offer.id;

-- name: GetOffer :one
SELECT offer.id, offer.piece_id, tag, offer.state, buyer, price, counter_price, offer.channel, offered_at, until_at, note, ended_at, reason, hold_id
FROM offer JOIN listing ON listing.piece_id = offer.piece_id WHERE offer.id = @id;
