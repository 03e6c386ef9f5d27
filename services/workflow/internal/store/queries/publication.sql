-- name: PutProposal :exec
INSERT INTO plan_proposal (id, made_at, actor, after, stages) VALUES (@id, @made_at, @actor, @after, @stages);

-- name: DropProposals :exec
DELETE FROM plan_proposal WHERE made_at < @before;

-- name: Proposal :one
SELECT id, after, stages FROM plan_proposal WHERE id = @id AND made_at >= @since;

-- Of two that publish at once, one waits for the other.
-- name: LockPublication :exec
LOCK TABLE plan_publication IN SHARE ROW EXCLUSIVE MODE;

-- name: Publication :one
SELECT version, id, published_at, last_day FROM plan_publication ORDER BY version DESC LIMIT 1;

-- name: PutPublication :exec
INSERT INTO plan_publication (version, id, published_at, actor, last_day) VALUES (@version, @id, @published_at, @actor, @last_day);

-- name: ForgetPlan :exec
DELETE FROM plan_stage;

-- Stages that are there no more are left out.
-- name: PutPlan :exec
INSERT INTO plan_stage (stage_id, pass, person_id, station_id, start_at, end_at)
SELECT n.stage_id, n.pass, nullif(n.person_id, '00000000-0000-0000-0000-000000000000'), nullif(n.station_id, '00000000-0000-0000-0000-000000000000'), n.start_at, n.end_at
FROM (SELECT unnest(@stage_ids::uuid[]) AS stage_id, unnest(@passes::integer[]) AS pass, unnest(@person_ids::uuid[]) AS person_id, unnest(@station_ids::uuid[]) AS station_id,
             unnest(@start_at::timestamptz[]) AS start_at, unnest(@end_at::timestamptz[]) AS end_at) AS n
JOIN stage s ON s.id = n.stage_id;

-- What people know of stages that are not finished, in their present pass.
-- name: PlannedStages :many
SELECT s.piece_id, p.stage_id, p.pass, p.person_id, p.station_id, p.start_at, p.end_at
FROM plan_stage p JOIN stage s ON s.id = p.stage_id AND s.pass = p.pass WHERE s.finished_at IS NULL;

-- Somebody has a stage by hand from now on, whatever a plan gave.
-- name: KeepByHand :exec
DELETE FROM plan_given WHERE stage_id = @stage_id;

-- name: GiveByPlan :exec
INSERT INTO plan_given (stage_id, person_id) VALUES (@stage_id, @person_id)
ON CONFLICT (stage_id) DO UPDATE SET person_id = excluded.person_id;

-- To whom plans gave stages that are not finished, and the pieces of these.
-- name: GivenByPlan :many
SELECT g.stage_id, s.piece_id, g.person_id FROM plan_given g JOIN stage s ON s.id = g.stage_id WHERE s.finished_at IS NULL;

-- name: GivenByPlanOf :many
SELECT g.stage_id, g.person_id FROM plan_given g JOIN stage s ON s.id = g.stage_id WHERE s.piece_id = @piece_id;

-- When somebody begins stages by the plan that people know.
-- name: PlannedFor :many
SELECT p.stage_id, p.start_at FROM plan_stage p JOIN stage s ON s.id = p.stage_id AND s.pass = p.pass WHERE p.person_id = @person_id::uuid AND s.finished_at IS NULL;
