-- name: NewestFinishPlan :one
SELECT piece_id, version, state, body, reason, actor, drafted_at, approved_at FROM finish_plan
WHERE piece_id = @piece_id ORDER BY version DESC LIMIT 1;

-- name: FinishPlanByVersion :one
SELECT piece_id, version, state, body, reason, actor, drafted_at, approved_at FROM finish_plan
WHERE piece_id = @piece_id AND version = @version;

-- name: InsertFinishPlan :exec
INSERT INTO finish_plan (piece_id, version, state, body, reason, actor, drafted_at, approved_at)
VALUES (@piece_id, @version, @state, @body, @reason, @actor, @drafted_at, @approved_at);

-- name: DeleteDraft :exec
DELETE FROM finish_plan WHERE piece_id = @piece_id AND state = 'draft';

-- name: ApproveDraft :exec
UPDATE finish_plan SET state = 'approved', body = @body, actor = @actor, approved_at = @approved_at
WHERE piece_id = @piece_id AND version = @version;

-- name: SupersedeFinishPlan :exec
UPDATE finish_plan SET state = 'superseded' WHERE piece_id = @piece_id AND state = 'approved';

-- An entry that no longer counts holds its stage all the same, and so does an open batch, or
-- work outside that was called off.
-- name: BegunStages :many
SELECT s.id FROM stage s
WHERE s.piece_id = @piece_id AND (s.finished_at IS NOT NULL OR s.pass > 1 OR s.batch_id IS NOT NULL
    OR EXISTS (SELECT FROM clock_entry c WHERE c.stage_id = s.id)
    OR EXISTS (SELECT FROM outside_work o WHERE o.stage_id = s.id));

-- Puts the places of a piece's stages where none of the new ones are.
-- name: ClearPlaces :exec
UPDATE stage SET position = -position WHERE piece_id = @piece_id;

-- name: DeleteStages :exec
DELETE FROM stage WHERE id = ANY (@ids::uuid[]);

-- What a plan says of a stage, and nothing of what was done on it.
-- name: ReviseStage :exec
UPDATE stage SET position = @position, skill = @skill, attended_minutes = @attended_minutes, unattended_minutes = @unattended_minutes, after_ids = @after_ids,
    grit = @grit, product_id = @product_id, product_name = @product_name, station = @station, needs = @needs, latest_minutes = @latest_minutes,
    cautions = @cautions, disturbs_old = @disturbs_old, why = @why, zone_id = @zone_id, coating = @coating, wet_film_um = @wet_film_um, area_m2 = @area_m2
WHERE id = @id;

-- name: PeopleOf :many
SELECT id, display_name FROM person WHERE id = ANY (@ids::uuid[]);

-- name: LabourSums :many
SELECT kind, person_id, n, sum, squares FROM labour_history ORDER BY kind, person_id;

-- name: AddLabour :exec
INSERT INTO labour_history (kind, person_id, n, sum, squares) VALUES (@kind, @person_id, @n, @sum, @squares)
ON CONFLICT (kind, person_id) DO UPDATE
SET n = labour_history.n + excluded.n, sum = labour_history.sum + excluded.sum, squares = labour_history.squares + excluded.squares;

-- Holds a person's sums of a kind, of which another may take something at the same time.
-- name: LockLabour :exec
SELECT FROM labour_history WHERE kind = @kind AND person_id = @person_id FOR UPDATE;

-- name: DeleteLabour :exec
DELETE FROM labour_history WHERE kind = @kind AND person_id = @person_id AND n = 1;

-- name: TakeLabour :exec
UPDATE labour_history SET n = n - 1, sum = sum - @sum, squares = squares - @squares
WHERE kind = @kind AND person_id = @person_id AND n > 1;

-- name: LabourOf :one
SELECT kind, person_id, y FROM labour_observation WHERE stage_id = @stage_id;

-- name: KeepLabourOf :exec
INSERT INTO labour_observation (stage_id, kind, person_id, y) VALUES (@stage_id, @kind, @person_id, @y)
ON CONFLICT (stage_id) DO UPDATE SET kind = excluded.kind, person_id = excluded.person_id, y = excluded.y;

-- Who worked how long in the first pass of a stage of a finish plan; nobody, on one of a route.
-- name: FirstPassWork :many
SELECT c.person_id, sum(extract(epoch FROM c.ended_at - c.started_at))::double precision AS seconds
FROM clock_entry c
WHERE c.stage_id = @stage_id::uuid AND c.pass = 1 AND NOT c.superseded AND c.ended_at IS NOT NULL
  AND EXISTS (SELECT FROM finish_plan f WHERE f.piece_id = c.piece_id AND f.state = 'approved')
GROUP BY c.person_id ORDER BY c.person_id;

-- What the newest approved plans used for each of some uses: of the products that they chose for it,
-- one that a stage has. Older plans than the newest so many say nothing of what the shop uses now.
-- name: LastUsed :many
SELECT DISTINCT ON (chosen.use) chosen.use::text AS use, chosen.product::uuid AS product_id
FROM (SELECT body, approved_at, piece_id FROM finish_plan WHERE state = 'approved' ORDER BY approved_at DESC, piece_id LIMIT @plans) p
CROSS JOIN LATERAL (
    SELECT c ->> 'use' AS use, c ->> 'product' AS product, c -> 'product' AS named
    FROM (SELECT jsonb_path_query(p.body, '$.choices[*]') AS c UNION ALL SELECT jsonb_path_query(p.body, '$.parts[*].choices[*]')) choices
) chosen
WHERE chosen.use = ANY (@uses::text[])
  AND jsonb_path_exists(p.body, '$.stages[*] ? (@.product == $product)', jsonb_build_object('product', chosen.named))
ORDER BY chosen.use, p.approved_at DESC, p.piece_id, product_id;
