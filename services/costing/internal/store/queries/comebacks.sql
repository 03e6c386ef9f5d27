-- name: InsertComeback :exec
INSERT INTO comeback (comeback_id, piece_id, warranty, source, reported_at) VALUES (@comeback_id, @piece_id, @warranty, '', @reported_at);

-- name: InsertComebackStages :exec
INSERT INTO comeback_stage (stage_id, comeback_id, piece_id) SELECT unnest(@stages::uuid[]), @comeback_id::uuid, @piece_id::uuid;

-- name: JudgeComeback :exec
UPDATE comeback SET source = @source WHERE comeback_id = @comeback_id;

-- name: ComebacksOf :many
SELECT s.stage_id, c.comeback_id, c.piece_id, c.warranty, c.source, c.reported_at
FROM comeback_stage s JOIN comeback c ON c.comeback_id = s.comeback_id WHERE s.piece_id = ANY (@pieces::uuid[]);
