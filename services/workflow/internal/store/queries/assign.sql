-- People who can do something at a level on a day; no skill is had by all.
-- name: PeopleWho :many
SELECT p.display_name FROM person p
WHERE (@skill::text = '' OR EXISTS (SELECT FROM unnest(p.skills) WITH ORDINALITY AS k (word, nth)
                                    WHERE k.word = @skill AND coalesce(p.skill_levels[k.nth], 2) >= @level::integer))
  AND coalesce(p.active_from <= @day::date, true) AND coalesce(p.active_to >= @day, true)
ORDER BY p.display_name LIMIT @page_limit;

-- name: LockPeople :many
SELECT id, display_name, skills, skill_levels, working_days, days_off, stations, active_from, active_to, version, revision
FROM person WHERE id = ANY (@ids::uuid[]) ORDER BY id FOR NO KEY UPDATE;
