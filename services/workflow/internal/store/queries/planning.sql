-- Pieces on the floor on which something is left to do, by tag.
-- name: PlanningPieces :many
SELECT p.id, p.tag, p.taken_in_at, p.promised_at, p.value FROM piece p
WHERE NOT p.scrapped AND p.sold_at IS NULL AND EXISTS (SELECT FROM stage s WHERE s.piece_id = p.id AND s.finished_at IS NULL)
ORDER BY p.tag, p.id;

-- name: PlanningParts :many
SELECT t.piece_id, t.id, t.count FROM part t JOIN piece p ON p.id = t.piece_id
WHERE NOT p.scrapped AND p.sold_at IS NULL AND EXISTS (SELECT FROM stage s WHERE s.piece_id = t.piece_id AND s.finished_at IS NULL);

-- Who is on the clock at stages that are not finished, on a batch at each of its own.
-- name: PlanningClocks :many
SELECT c.stage_id::uuid AS stage_id, c.person_id, c.station_id, c.started_at
FROM clock_entry c JOIN stage s ON s.id = c.stage_id
WHERE c.ended_at IS NULL AND NOT c.superseded AND s.finished_at IS NULL ORDER BY c.started_at, c.person_id, c.id;

-- What was worked on stages that are not finished, in their present pass.
-- name: PlanningWorked :many
SELECT s.id, sum(extract(epoch FROM c.ended_at - c.started_at))::double precision AS seconds
FROM stage s JOIN piece p ON p.id = s.piece_id JOIN clock_entry c ON c.piece_id = s.piece_id AND c.stage_id = s.id AND c.pass = s.pass
WHERE s.finished_at IS NULL AND NOT p.scrapped AND p.sold_at IS NULL AND NOT c.superseded AND c.ended_at IS NOT NULL
GROUP BY s.id;

-- name: PlanningOut :many
SELECT o.piece_id, o.part_id, o.stage_id, o.firm, o.due_day FROM outside_work o WHERE o.state = 'out' ORDER BY o.piece_id, o.id;

-- name: PlanningStations :many
SELECT id, word, display_name, kind, capacity, unit, open_hours, stage_kinds, changeover_minutes, retired FROM station ORDER BY word;

-- name: PlanningPins :many
SELECT p.stage_id, p.pass, p.person_id, p.start_at FROM stage_pin p JOIN stage s ON s.id = p.stage_id AND s.pass = p.pass WHERE s.finished_at IS NULL;

-- name: PinOf :one
SELECT stage_id, pass, person_id, start_at FROM stage_pin WHERE stage_id = @stage_id;

-- name: PutPin :exec
INSERT INTO stage_pin (stage_id, pass, person_id, start_at, actor, pinned_at) VALUES (@stage_id, @pass, @person_id, @start_at, @actor, @pinned_at)
ON CONFLICT (stage_id) DO UPDATE SET pass = excluded.pass, person_id = excluded.person_id, start_at = excluded.start_at, actor = excluded.actor, pinned_at = excluded.pinned_at;

-- name: DeletePin :exec
DELETE FROM stage_pin WHERE stage_id = @stage_id;
