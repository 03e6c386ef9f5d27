-- name: HasOwner :one
SELECT EXISTS (SELECT FROM person p JOIN sign_in s ON s.person_id = p.id WHERE p.role = 'owner' AND s.kind = 'passphrase')::boolean AS has_owner;

-- name: SignInByName :one
SELECT p.id, p.display_name, p.name_key, p.role, p.active_from, p.active_to, s.kind, s.hash
FROM person p LEFT JOIN sign_in s ON s.person_id = p.id WHERE p.name_key = @name_key;

-- name: LockSignIn :one
SELECT p.id, p.display_name, p.name_key, p.role, p.active_from, p.active_to, s.kind, s.hash
FROM person p LEFT JOIN sign_in s ON s.person_id = p.id WHERE p.id = @id FOR NO KEY UPDATE OF p;

-- name: SetSignIn :exec
INSERT INTO sign_in (person_id, kind, hash, changed_at) VALUES (@person_id, @kind, @hash, @changed_at)
ON CONFLICT (person_id) DO UPDATE SET kind = excluded.kind, hash = excluded.hash, changed_at = excluded.changed_at;

-- name: DropSignIn :exec
DELETE FROM sign_in WHERE person_id = @person_id;

-- A row that is not there yet is made, so that it can be locked.
-- name: LockAttempts :one
INSERT INTO sign_in_attempt (name_key, failures, tried_at) VALUES (@name_key, 0, @tried_at)
ON CONFLICT (name_key) DO UPDATE SET tried_at = excluded.tried_at RETURNING failures, locked_until;

-- name: SaveAttempts :exec
UPDATE sign_in_attempt SET failures = @failures, locked_until = @locked_until WHERE name_key = @name_key;

-- name: DropAttempts :one
WITH gone AS (DELETE FROM sign_in_attempt WHERE name_key = @name_key RETURNING locked_until)
SELECT coalesce((SELECT max(locked_until) FROM gone), '-infinity')::timestamptz > @now::timestamptz AS was_locked;

-- name: ForgetAttempts :exec
DELETE FROM sign_in_attempt WHERE tried_at < @before;

-- Whoever is the owner now, and whoever becomes or leaves it, are locked before it is decided who is left.
-- name: LockOwners :many
SELECT p.id, p.display_name, p.role, p.active_from, p.active_to, EXISTS (SELECT FROM sign_in s WHERE s.person_id = p.id AND s.kind = 'passphrase')::boolean AS has_passphrase
FROM person p WHERE p.role = 'owner' OR p.id = @id ORDER BY p.id FOR NO KEY UPDATE OF p;

-- name: SetRole :exec
UPDATE person SET role = @role WHERE id = @id;

-- name: LockClaim :exec
SELECT pg_advisory_xact_lock(hashtextextended('tackfree.workflow.claim', 0));

-- name: ClaimKey :one
SELECT sha FROM claim_key;

-- name: SetClaimKey :exec
INSERT INTO claim_key (sha, made_at) VALUES (@sha, @made_at) ON CONFLICT (one) DO UPDATE SET sha = excluded.sha, made_at = excluded.made_at;

-- name: DropClaimKey :exec
DELETE FROM claim_key;
