-- A piece's lines in the order of time: those of its cost sheet, or all of them.
-- name: LinesOfPiece :many
SELECT p.tx_id, p.line, p.event_id, p.group_kind, p.group_id, p.account, p.bucket, p.piece_id, p.person_id, p.stage_id, p.stage_kind, p.again, p.amount,
       p.occurred_at, p.recorded_at, p.position, coalesce(c.tag, 0)::integer AS tag, coalesce(n.name, '')::text AS person_name, coalesce(s.key, '')::text AS stage_key,
       coalesce(s.part_label, '')::text AS part_label
FROM posting p LEFT JOIN piece c ON c.piece_id = p.piece_id LEFT JOIN person n ON n.person_id = p.person_id LEFT JOIN stage s ON s.stage_id = p.stage_id
WHERE p.piece_id = @piece::uuid AND (@every::boolean OR p.bucket <> '' AND (p.amount <> 0 OR p.person_id IS NOT NULL))
  AND (p.occurred_at, p.tx_id, p.line) > (@after_at::timestamptz, @after_tx::uuid, @after_line::smallint)
ORDER BY p.occurred_at, p.tx_id, p.line LIMIT @page_limit;

-- The lines that an event brought about.
-- name: LinesOfEvent :many
SELECT p.tx_id, p.line, p.event_id, p.group_kind, p.group_id, p.account, p.bucket, p.piece_id, p.person_id, p.stage_id, p.stage_kind, p.again, p.amount,
       p.occurred_at, p.recorded_at, p.position, coalesce(c.tag, 0)::integer AS tag, coalesce(n.name, '')::text AS person_name, coalesce(s.key, '')::text AS stage_key,
       coalesce(s.part_label, '')::text AS part_label
FROM posting p LEFT JOIN piece c ON c.piece_id = p.piece_id LEFT JOIN person n ON n.person_id = p.person_id LEFT JOIN stage s ON s.stage_id = p.stage_id
WHERE p.event_id = @event AND (p.occurred_at, p.tx_id, p.line) > (@after_at::timestamptz, @after_tx::uuid, @after_line::smallint)
ORDER BY p.occurred_at, p.tx_id, p.line LIMIT @page_limit;

-- Whole transactions in the order of time, those that move something: what happened in a time and was taken
-- in after a position and up to another, but for what happened before an instant and was taken in up to a
-- position.
-- name: Journal :many
SELECT p.tx_id, p.line, p.event_id, p.group_kind, p.group_id, p.account, p.bucket, p.piece_id, p.person_id, p.stage_id, p.stage_kind, p.again, p.amount,
       p.occurred_at, p.recorded_at, p.position, coalesce(c.tag, 0)::integer AS tag, coalesce(n.name, '')::text AS person_name, coalesce(s.key, '')::text AS stage_key,
       coalesce(s.part_label, '')::text AS part_label
FROM (SELECT DISTINCT o.occurred_at, o.tx_id FROM posting o
      WHERE (o.occurred_at, o.tx_id) > (@after_at::timestamptz, @after_tx::uuid) AND o.occurred_at >= @begins AND o.occurred_at < @ends AND o.recorded_at >= @recorded_since AND o.amount <> 0
        AND o.position > @after_position AND o.position <= @until_position AND (o.occurred_at >= @but_before OR o.position > @but_until)
      ORDER BY o.occurred_at, o.tx_id LIMIT @page_limit) AS t
JOIN posting p ON p.occurred_at = t.occurred_at AND p.tx_id = t.tx_id
LEFT JOIN piece c ON c.piece_id = p.piece_id LEFT JOIN person n ON n.person_id = p.person_id LEFT JOIN stage s ON s.stage_id = p.stage_id
WHERE p.amount <> 0 ORDER BY p.occurred_at, p.tx_id, p.line;

-- Lets what follows in the transaction be planned for what is asked: a page of the whole journal is found along
-- its times, and the few lines that are new by their positions.
-- name: PlanForWhatIsAsked :one
SELECT set_config('plan_cache_mode', 'force_custom_plan', true);

-- What accounts come to by the lines that the journal has of such a time.
-- name: JournalSums :many
SELECT account, sum(amount)::bigint AS balance FROM posting
WHERE occurred_at >= @begins AND occurred_at < @ends AND position <= @until_position AND (occurred_at >= @but_before OR position > @but_until)
GROUP BY account HAVING sum(amount) <> 0 ORDER BY account;

-- The last line that was taken in, if it was at a position or after it.
-- name: GetLastPosition :one
SELECT coalesce(max(position), 0)::bigint FROM posting WHERE position >= @since;

-- When, in the order of taking in, a month was last closed or opened again, or other lines were put in place or the
-- books set back; and the last position that anybody drew, be what it was drawn for committed or not.
-- name: GetJournalMarks :one
SELECT greatest((SELECT max(c.position) FROM month_close c), (SELECT max(r.position) FROM month_reopen r), (SELECT max(m.position) FROM remade m), 0)::bigint AS changed,
       coalesce(pg_sequence_last_value('posting_position'::regclass), 0)::bigint AS drawn;

-- From when on lines are others since a position; none: of any day.
-- name: RemadeAfter :many
SELECT since FROM remade WHERE position > @after AND kept < @after ORDER BY since NULLS FIRST LIMIT 1;

-- Whether the books have positions, which those of an older backup have not.
-- name: HasPositions :one
SELECT (to_regclass('remade') IS NOT NULL)::boolean;

-- Notes that the books were set back, and up to which position they are what they were before. They go on above all
-- that they may have given out in the time that is lost: positions are drawn one by one, and no books draw a million
-- a second, so that none comes to the microseconds since 1970.
-- name: SetBack :exec
INSERT INTO remade (position, kept)
SELECT setval('posting_position', greatest(nextval('posting_position'), (extract(epoch FROM clock_timestamp()) * 1000000)::bigint)),
       greatest((SELECT max(p.position) FROM posting p), (SELECT max(c.position) FROM month_close c), (SELECT max(r.position) FROM month_reopen r), (SELECT max(m.position) FROM remade m), 0);

-- Up to where the closes in force have counted.
-- name: Cuts :many
SELECT c.month, c.ends_at, c.position FROM month_close c WHERE NOT EXISTS (SELECT FROM month_reopen r WHERE r.close_id = c.id) ORDER BY c.month;

-- The other lines of transactions.
-- name: SidesOf :many
SELECT tx_id, line, account, bucket, amount FROM posting WHERE tx_id = ANY (@txs::uuid[]) ORDER BY tx_id, line;

-- The labour that events told of.
-- name: StretchesOf :many
SELECT event_id, sign, entry_id, person_name, stage_key, part_label, started_at, ended_at
FROM stretch WHERE event_id = ANY (@events::uuid[]) ORDER BY event_id, sign;

-- What accounts and lines of sheets came to by what happened in a time.
-- name: Within :many
SELECT account, bucket, (piece_id IS NOT NULL)::boolean AS of_piece, sum(amount)::bigint AS amount FROM posting
WHERE occurred_at >= @begins AND occurred_at < @ends GROUP BY account, bucket, piece_id IS NOT NULL ORDER BY account, bucket, of_piece;

-- How many pieces are how far: one that was sold and scrapped at once is sold, as in the ledger.
-- name: CountPieces :one
SELECT count(*) FILTER (WHERE scrapped AND sales_state <> 'sold')::integer AS scrapped,
       count(*) FILTER (WHERE sales_state = 'sold')::integer AS sold,
       count(*) FILTER (WHERE sales_state = 'listed' AND NOT scrapped)::integer AS listed,
       count(*) FILTER (WHERE sales_state NOT IN ('sold', 'listed') AND NOT scrapped)::integer AS in_hand
FROM piece;

-- Pieces of which a sheet may say that it is not final.
-- name: MaybeOpen :many
SELECT piece_id FROM piece WHERE running <> 0 OR scrapped AND sales_state = 'sold'
UNION SELECT piece_id FROM outside_work
UNION SELECT piece_id FROM dead WHERE resolved_at IS NULL AND piece_id IS NOT NULL
UNION SELECT piece_id FROM parked WHERE piece_id IS NOT NULL
UNION SELECT s.piece_id FROM stretch s LEFT JOIN (SELECT r.person_id, min(r.effective_at) AS rated FROM pay_rate r GROUP BY r.person_id) AS f ON f.person_id = s.person_id
  WHERE s.piece_id IS NOT NULL AND s.started_at < coalesce(f.rated, 'infinity')
ORDER BY piece_id;

-- name: PiecesOf :many
SELECT piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax,
       labour_ms, rework_ms, running, revision, updated_at, outside, premium, burden, overhead, kind, source, came_at, channel, sold_at, finish
FROM piece WHERE piece_id = ANY (@pieces::uuid[]) ORDER BY piece_id;

-- All that the state of the shop is made of, in small: while this stays the same, so does the state.
-- name: GetShopMakings :one
SELECT (SELECT coalesce(sum(a.version), 0)::bigint FROM applied a) AS events,
       (SELECT coalesce(sum(p.revision), 0)::bigint FROM piece p) AS revisions,
       (SELECT count(*) FROM dead d WHERE d.resolved_at IS NULL) AS refused,
       (SELECT count(*) FROM parked) AS waiting,
       (SELECT count(*) FROM pay_rate) AS rates;
