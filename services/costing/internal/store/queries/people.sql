-- What people are called; an older word than the one known changes nothing.
-- name: NamePeople :exec
INSERT INTO person AS p (person_id, name, version)
SELECT person_id, name, version
FROM (SELECT unnest(@person_id::uuid[]) AS person_id, unnest(@name::text[]) AS name, unnest(@version::bigint[]) AS version) AS n
ON CONFLICT (person_id) DO UPDATE SET name = excluded.name, version = excluded.version WHERE excluded.version > p.version;
