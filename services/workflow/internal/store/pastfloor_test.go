package store_test

import (
	"maps"
	"testing"

	"tackfree/pkg/pg"
)

// What the tables of the floor refuse, beside rows of each of them.
func init() { maps.Copy(past, pastFloor) }

var pastFloor = map[string][]string{
	"person_active_in_order":               {`UPDATE person SET active_from = '2026-03-03', active_to = '2026-03-02'`},
	"person_levels_are_of_skills":          {`UPDATE person SET skill_levels = '{1,2,3}'`},
	"person_revision_check":                {`UPDATE person SET revision = 0`},
	"step_skill_level_check":               {`UPDATE step SET skill_level = 4`, `UPDATE step SET skill_level = -1`},
	"stage_skill_level_check":              {`UPDATE stage SET skill_level = 4`},
	"stage_batch_id_fkey":                  {`UPDATE stage SET batch_id = gen_random_uuid()`},
	"piece_value_check":                    {`UPDATE piece SET value = -1`},
	"part_piece_id_fkey":                   {`UPDATE part SET piece_id = gen_random_uuid()`},
	"part_count_check":                     {`UPDATE part SET count = 0`},
	"station_word_once":                    {`UPDATE station SET word = 'booth'`},
	"station_kind_check":                   {`UPDATE station SET kind = 'attic'`},
	"station_capacity_check":               {`UPDATE station SET capacity = 0 WHERE word = 'bench-1'`},
	"station_unit_check":                   {`UPDATE station SET unit = 'metres'`},
	"station_changeover_minutes_check":     {`UPDATE station SET changeover_minutes = -1`},
	"station_version_check":                {`UPDATE station SET version = 0`},
	"station_zone_id_fkey":                 {`UPDATE station SET zone_id = gen_random_uuid()`},
	"placement_piece_id_fkey":              {`UPDATE placement SET piece_id = gen_random_uuid()`},
	"placement_station_id_fkey":            {`UPDATE placement SET station_id = gen_random_uuid() WHERE station_id IS NOT NULL`, `DELETE FROM station`},
	"placement_outside_id_fkey":            {`UPDATE placement SET outside_id = gen_random_uuid() WHERE outside_id IS NOT NULL`},
	"placement_is_somewhere":               {`UPDATE placement SET station_id = NULL, outside_id = NULL`, `UPDATE placement SET station_id = (SELECT id FROM station WHERE word = 'booth') WHERE outside_id IS NOT NULL`},
	"placement_takes_check":                {`UPDATE placement SET takes = 0`},
	"placement_ends_after_start":           {`UPDATE placement SET to_at = from_at`},
	"placement_one_place":                  {`UPDATE placement SET to_at = NULL`},
	"outside_work_piece_id_fkey":           {`UPDATE outside_work SET piece_id = gen_random_uuid()`},
	"outside_work_stage_id_fkey":           {`UPDATE outside_work SET stage_id = gen_random_uuid()`},
	"outside_work_quoted_check":            {`UPDATE outside_work SET quoted = -1`},
	"outside_work_billed_check":            {`UPDATE outside_work SET billed = -1`},
	"outside_work_state_check":             {`UPDATE outside_work SET state = 'lost', back_at = now()`},
	"outside_is_back_when_it_is":           {`UPDATE outside_work SET state = 'back'`, `UPDATE outside_work SET back_at = now()`},
	"outside_back_after_sent":              {`UPDATE outside_work SET state = 'back', back_at = sent_at - interval '1 second'`},
	"outside_chase_outside_id_fkey":        {`UPDATE outside_chase SET outside_id = gen_random_uuid()`},
	"batch_state_check":                    {`UPDATE batch SET state = 'lost', ended_at = now()`},
	"batch_split_check":                    {`UPDATE batch SET split = 'weight'`},
	"batch_version_check":                  {`UPDATE batch SET version = 0`},
	"batch_ends_when_it_does":              {`UPDATE batch SET state = 'finished'`, `UPDATE batch SET ended_at = now()`},
	"batch_ends_after_it_was_formed":       {`UPDATE batch SET state = 'dissolved', ended_at = formed_at - interval '1 millisecond'`},
	"batch_open_name_once":                 {`INSERT INTO batch (id, display_name, name_key, state, split, stage_kind, product_name, formed_at, version) VALUES (gen_random_uuid(), 'FRONTS', 'fronts', 'open', 'equal', 'sand', '', now(), 1)`},
	"batch_stage_batch_id_fkey":            {`UPDATE batch_stage SET batch_id = gen_random_uuid()`},
	"batch_stage_stage_id_fkey":            {`UPDATE batch_stage SET stage_id = gen_random_uuid()`},
	"batch_stage_piece_id_fkey":            {`UPDATE batch_stage SET piece_id = gen_random_uuid()`},
	"batch_stage_weight_check":             {`UPDATE batch_stage SET weight = 0`},
	"clock_entry_batch_id_fkey":            {`UPDATE clock_entry SET batch_id = gen_random_uuid()`},
	"clock_entry_station_id_fkey":          {`UPDATE clock_entry SET station_id = gen_random_uuid()`},
	"clock_is_on_something":                {`UPDATE clock_entry SET indirect = 'cleaning'`, `UPDATE clock_entry SET stage_id = NULL, piece_id = NULL`, `UPDATE clock_entry SET piece_id = NULL`},
	"clock_held_only_in_a_running_stretch": {`UPDATE clock_entry SET held = true`, `UPDATE clock_entry SET ended_at = NULL, held = true, stretch_id = id`},
	"clock_review_person_id_fkey":          {`UPDATE clock_review SET person_id = gen_random_uuid()`},
	"clock_review_kind_check":              {`UPDATE clock_review SET kind = 'odd' WHERE sent IS NOT NULL`},
	"review_is_of_something":               {`UPDATE clock_review SET sent = NULL WHERE sent IS NOT NULL`, `UPDATE clock_review SET sent = '{}'`},
	"review_says_how_it_was_settled":       {`UPDATE clock_review SET settled_at = now()`, `UPDATE clock_review SET settlement = 'accepted'`},
	"clock_review_forgotten_once":          {`INSERT INTO clock_review (id, kind, person_id, entry_ids, reason, raised_at) SELECT gen_random_uuid(), kind, person_id, entry_ids, reason, raised_at FROM clock_review WHERE kind = 'forgotten'`},
	"inspection_piece_id_fkey":             {`UPDATE inspection SET piece_id = gen_random_uuid()`},
	"inspection_inspector_id_fkey":         {`UPDATE inspection SET inspector_id = gen_random_uuid()`},
	"inspection_point_check":               {`UPDATE inspection SET point = 'smell'`},
	"inspection_fails_back_to_something":   {`UPDATE inspection SET passed = true`, `UPDATE inspection SET back_to = NULL`},
	"defect_inspection_id_fkey":            {`UPDATE defect SET inspection_id = gen_random_uuid()`},
	"reopened_inspection_id_fkey":          {`UPDATE reopened SET inspection_id = gen_random_uuid()`},
	"reopened_stage_id_fkey":               {`UPDATE reopened SET stage_id = gen_random_uuid()`},
	"reopened_pass_check":                  {`UPDATE reopened SET pass = 1`},
}

// busyFloor puts rows into every table of the floor: Nell's entry was forgotten and her phone
// sent another, the dresser's case stands in the booth and its top is with an upholsterer.
var busyFloor = []string{
	`INSERT INTO station (id, word, display_name, kind, capacity, unit, open_hours, stage_kinds, changeover_minutes, retired, version)
	 SELECT gen_random_uuid(), word, word, kind, 1, 'pieces', '[]', '{}', 0, false, 1 FROM (VALUES ('booth', 'booth'), ('bench-1', 'bench')) AS s (word, kind)`,
	`INSERT INTO part (piece_id, id, label, count) SELECT id, gen_random_uuid(), 'case', 1 FROM piece WHERE tag = 1`,
	`INSERT INTO outside_work (id, piece_id, part_label, kind, firm, sent_at, due_day, state) SELECT gen_random_uuid(), id, '', 'upholstery', 'Ortiz', now(), '2026-03-09', 'out' FROM piece WHERE tag = 1`,
	`INSERT INTO outside_chase (id, outside_id, chased_at, actor, note) SELECT gen_random_uuid(), id, now(), 'Nell', 'next week' FROM outside_work`,
	`INSERT INTO placement (id, piece_id, part_id, takes, station_id, from_at, to_at)
	 SELECT gen_random_uuid(), p.id, '00000000-0000-0000-0000-000000000000', 1, s.id, now() - interval '2 hours', now() - interval '1 hour' FROM piece p, station s WHERE p.tag = 1 AND s.word = 'booth'`,
	`INSERT INTO placement (id, piece_id, part_id, takes, outside_id, from_at) SELECT gen_random_uuid(), piece_id, '00000000-0000-0000-0000-000000000000', 1, id, now() FROM outside_work`,
	`INSERT INTO batch (id, display_name, name_key, state, split, stage_kind, product_name, formed_at, version) VALUES (gen_random_uuid(), 'fronts', 'fronts', 'open', 'equal', 'strip', '', now(), 1)`,
	`INSERT INTO batch_stage (batch_id, stage_id, piece_id, position, pass, weight) SELECT b.id, s.id, s.piece_id, 1, 1, 1 FROM batch b, stage s WHERE s.position = 1`,
	`INSERT INTO clock_review (id, kind, person_id, entry_ids, reason, raised_at) SELECT gen_random_uuid(), 'forgotten', person_id, ARRAY[id], 'it ran', now() FROM clock_entry WHERE NOT superseded LIMIT 1`,
	`INSERT INTO clock_review (id, kind, person_id, entry_ids, sent, reason, raised_at) SELECT gen_random_uuid(), 'overlap', id, '{}', '{}', 'both', now() FROM person WHERE display_name = 'Nell'`,
	`INSERT INTO inspection (id, piece_id, stage_id, stage_title, point, pass, inspector_id, passed, back_to, back_to_title, note, inspected_at, actor, judged_stage, judged_kind, judged_pass, product_name, worker_ids)
	 SELECT gen_random_uuid(), s.piece_id, s.id, 'look', 'film', 1, w.id, false, s.id, 'strip', '', now(), 'Nell', s.id, 'strip', 1, '', '{}' FROM stage s, person w WHERE s.position = 1 AND w.display_name = 'Odo' LIMIT 1`,
	`INSERT INTO defect (inspection_id, nth, kind, part_label, photo, note) SELECT id, 1, 'runs', '', '', '' FROM inspection`,
	`INSERT INTO reopened (inspection_id, stage_id, pass) SELECT id, stage_id, 2 FROM inspection`,
}

func fillFloor(t *testing.T, db *pg.DB) {
	t.Helper()
	for _, sql := range busyFloor {
		if err := execute(t, db, sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
}
