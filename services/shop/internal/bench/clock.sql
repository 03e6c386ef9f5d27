\set n :n + 1
\set person :first + :client_id + :n * 8
\set piece (:client_id + :n * 8) % :pieces
BEGIN;
SELECT FROM person WHERE id = ('00000000-0000-7000-8000-' || lpad(:person::text, 12, '0'))::uuid FOR NO KEY UPDATE;
SELECT FROM piece WHERE id = ('00000000-0000-7000-9000-' || lpad(:piece::text, 12, '0'))::uuid FOR UPDATE;
SELECT p.id AS piece_id, p.tag, p.scrapped, p.version, s.id AS stage_id, s.part_label, s.key, s.kind, s.skill, s.pass, s.finished_at, s.assignee_id, a.display_name AS assigned_to, w.id AS person_id, w.display_name, w.skills, o.id AS open_id, o.started_at AS open_since, os.key AS open_key, os.part_label AS open_part, op.tag AS open_tag, ARRAY (SELECT CASE b.part_label WHEN '' THEN b.key ELSE b.key || ' (' || b.part_label || ')' END FROM stage b WHERE b.id = ANY (s.after_ids) AND b.finished_at IS NULL ORDER BY b.position)::text[] AS open_before FROM (SELECT) AS always LEFT JOIN stage s ON s.id = ('00000000-0000-7000-a000-' || lpad(:piece::text, 12, '0'))::uuid LEFT JOIN piece p ON p.id = s.piece_id LEFT JOIN person a ON a.id = s.assignee_id LEFT JOIN person w ON w.id = ('00000000-0000-7000-8000-' || lpad(:person::text, 12, '0'))::uuid LEFT JOIN clock_entry o ON o.person_id = w.id AND o.ended_at IS NULL AND NOT o.superseded LEFT JOIN stage os ON os.id = o.stage_id LEFT JOIN piece op ON op.id = o.piece_id;
INSERT INTO clock_entry (id, person_id, piece_id, stage_id, pass, started_at, ended_at, corrects, superseded, actor, reason) VALUES (gen_random_uuid(), ('00000000-0000-7000-8000-' || lpad(:person::text, 12, '0'))::uuid, ('00000000-0000-7000-9000-' || lpad(:piece::text, 12, '0'))::uuid, ('00000000-0000-7000-a000-' || lpad(:piece::text, 12, '0'))::uuid, 1, now(), NULL, NULL, false, 'bench', '');
UPDATE piece SET scrapped = false, planned = true, version = version + 1 WHERE id = ('00000000-0000-7000-9000-' || lpad(:piece::text, 12, '0'))::uuid;
INSERT INTO event (event_id, aggregate_kind, aggregate_id, version, piece_id, type, body, recorded_at) SELECT gen_random_uuid(), 'piece', id, version, id, 'clocked_on', decode(repeat('ab', :body), 'hex'), now() FROM piece WHERE id = ('00000000-0000-7000-9000-' || lpad(:piece::text, 12, '0'))::uuid;
INSERT INTO request (actor, request_id, hash, response, created_at) VALUES ('bench', gen_random_uuid(), decode(repeat('ab', 32), 'hex'), decode(repeat('ab', :answer), 'hex'), now());
COMMIT;
