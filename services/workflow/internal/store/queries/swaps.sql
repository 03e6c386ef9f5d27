-- name: PutRefusal :exec
INSERT INTO stage_refusal (stage_id, person_id, pass, reason, actor, refused_at) VALUES (@stage_id, @person_id, @pass, @reason, @actor, @refused_at)
ON CONFLICT (stage_id, person_id) DO UPDATE SET pass = excluded.pass, reason = excluded.reason, actor = excluded.actor, refused_at = excluded.refused_at;

-- name: DeleteRefusals :exec
DELETE FROM stage_refusal WHERE stage_id = @stage_id AND person_id = ANY (@people::uuid[]);

-- Who refused stages that are not finished, in their present pass.
-- name: Refusals :many
SELECT r.stage_id, r.person_id FROM stage_refusal r JOIN stage s ON s.id = r.stage_id AND s.pass = r.pass
WHERE s.finished_at IS NULL AND (sqlc.narg(person)::uuid IS NULL OR r.person_id = sqlc.narg(person)) ORDER BY r.stage_id, r.refused_at, r.person_id;

-- name: InsertSwap :exec
INSERT INTO stage_swap (id, from_id, to_id, stage_id, pass, for_stage_id, for_pass, note, state, offered_at, actor)
VALUES (@id, @from_id, @to_id, @stage_id, @pass, @for_stage_id, @for_pass, @note, @state, @offered_at, @actor);

-- name: EndSwap :exec
UPDATE stage_swap SET state = @state, ended_at = @ended_at WHERE id = @id;

-- name: GetSwap :one
SELECT * FROM swap w WHERE w.id = @id;

-- The open offer of a stage.
-- name: OpenSwapOf :one
SELECT * FROM swap w WHERE w.stage_id = @stage_id AND w.state = 'open';

-- Open ones to and from a person, and those that ended since an instant; the newest first. Of those that ended by
-- themselves such as were offered since: one has when a side of it is no longer as it was, by the rules of
-- Swap.Overtaken, and is open here for ever unless its stage is offered anew.
-- name: ListSwaps :many
SELECT * FROM swap w
WHERE (w.from_id = @person OR w.to_id = @person) AND (sqlc.narg(before)::uuid IS NULL OR w.id < sqlc.narg(before))
  AND CASE w.state WHEN 'overtaken' THEN w.offered_at > @since::timestamptz
                   WHEN 'open' THEN w.offered_at > @since OR NOT EXISTS (
                       SELECT FROM (VALUES (w.stage_id, w.pass, w.from_id, w.to_id), (w.for_stage_id, w.for_pass, w.to_id, w.from_id)) AS side (stage_id, pass, has, gets)
                       JOIN stage s ON s.id = side.stage_id JOIN piece p ON p.id = s.piece_id
                       WHERE p.scrapped OR p.sold_at IS NOT NULL OR s.finished_at IS NOT NULL OR s.pass <> side.pass
                          OR s.assignee_id IS DISTINCT FROM side.has AND side.has <> ALL (s.helper_ids)
                          OR side.gets = s.assignee_id OR side.gets = ANY (s.helper_ids))
                   ELSE w.ended_at > @since END
ORDER BY w.id DESC LIMIT @page_limit;

-- name: StagesByID :many
SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.skill, s.position, s.attended_minutes, s.unattended_minutes,
       s.after_ids, s.send_back_times, s.finished_at, s.assignee_id, coalesce(w.display_name, '') AS assigned_to,
       s.grit, s.product_id, s.product_name, s.station, s.needs, s.latest_minutes, s.cautions, s.disturbs_old, s.why,
       s.zone_id, s.coating, s.wet_film_um, s.area_m2, s.skill_level, s.batch_id, s.helper_ids,
       ARRAY (SELECT h.display_name FROM unnest(s.helper_ids) WITH ORDINALITY AS u (id, nth) JOIN person h ON h.id = u.id ORDER BY u.nth)::text[] AS helper_names
FROM stage s LEFT JOIN person w ON w.id = s.assignee_id
WHERE s.id = ANY (@ids::uuid[]);

-- name: PiecesByID :many
SELECT id, tag, taken_in_at, scrapped, planned, version, promised_at, value, scrapped_at, sold_at FROM piece WHERE id = ANY (@ids::uuid[]);
