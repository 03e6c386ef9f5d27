-- name: InsertOutside :exec
INSERT INTO outside_work (id, piece_id, part_id, part_label, kind, firm, quoted, sent_at, due_day, stage_id, state, back_at, billed, pass)
VALUES (@id, @piece_id, @part_id, @part_label, @kind, @firm, @quoted, @sent_at, @due_day, @stage_id, @state, @back_at, @billed, @pass);

-- name: UpdateOutside :exec
UPDATE outside_work SET due_day = @due_day, state = @state, back_at = @back_at, billed = @billed, pass = @pass WHERE id = @id;

-- name: GetOutside :one
SELECT o.id, o.piece_id, p.tag, o.part_id, o.part_label, o.kind, o.firm, o.quoted, o.sent_at, o.due_day, o.stage_id, o.state, o.back_at, o.billed, o.pass
FROM outside_work o JOIN piece p ON p.id = o.piece_id WHERE o.id = @id;

-- name: ListOutside :many
SELECT o.id, o.piece_id, p.tag, o.part_id, o.part_label, o.kind, o.firm, o.quoted, o.sent_at, o.due_day, o.stage_id, o.state, o.back_at, o.billed, o.pass
FROM outside_work o JOIN piece p ON p.id = o.piece_id
WHERE (sqlc.narg(piece)::uuid IS NULL OR o.piece_id = sqlc.narg(piece)) AND (@back::boolean OR @unbilled::boolean OR o.state = 'out')
  AND (NOT @unbilled::boolean OR (o.state = 'back' AND o.billed IS NULL))
  AND (sqlc.narg(due_before)::date IS NULL OR (o.state = 'out' AND o.due_day < sqlc.narg(due_before)))
  AND (o.due_day, o.id) > (@after_day::date, @after_id::uuid)
ORDER BY o.due_day, o.id LIMIT @page_limit;

-- name: InsertChase :exec
INSERT INTO outside_chase (id, outside_id, chased_at, actor, note, due_day) VALUES (@id, @outside_id, @chased_at, @actor, @note, @due_day);

-- name: ChasesOf :many
SELECT id, outside_id, chased_at, actor, note, due_day FROM outside_chase WHERE outside_id = ANY (@ids::uuid[]) ORDER BY outside_id, chased_at, id;

-- name: AwayParts :many
SELECT part_id FROM placement WHERE piece_id = @piece_id AND to_at IS NULL AND outside_id IS NOT NULL ORDER BY part_id;

-- What went out and came back in the same minute was out all the same.
-- name: ComeBack :exec
UPDATE placement SET to_at = greatest(@at::timestamptz, from_at + interval '1 millisecond') WHERE outside_id = @outside_id::uuid AND to_at IS NULL;
