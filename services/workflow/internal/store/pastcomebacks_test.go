package store_test

import (
	"maps"
	"testing"

	"tackfree/pkg/pg"
)

func init() { maps.Copy(past, pastComebacks) }

// pastComebacks is what past is for what came back.
var pastComebacks = map[string][]string{
	"comeback_piece_id_fkey":           {`UPDATE comeback SET piece_id = gen_random_uuid() WHERE closed_at IS NOT NULL`},
	"comeback_person_id_fkey":          {`UPDATE comeback SET person_id = gen_random_uuid()`},
	"comeback_outcome_check":           {`UPDATE comeback SET outcome = 'lost' WHERE closed_at IS NOT NULL`},
	"comeback_source_check":            {`UPDATE comeback SET source = 'moon', certainty = 'certain', judged_at = now()`},
	"comeback_version_check":           {`UPDATE comeback SET version = 0`},
	"comeback_says_how_it_ended":       {`UPDATE comeback SET outcome = ''`, `UPDATE comeback SET returned_at = NULL`, `UPDATE comeback SET closed_at = NULL`},
	"comeback_says_when_it_was_judged": {`UPDATE comeback SET judged_at = now()`, `UPDATE comeback SET source = 'use'`, `UPDATE comeback SET certainty = 'likely'`},
	"comeback_open_once":               {`UPDATE comeback SET closed_at = NULL, returned_at = NULL, outcome = ''`},
	"comeback_fault_comeback_id_fkey":  {`UPDATE comeback_fault SET comeback_id = gen_random_uuid()`},
	"comeback_stage_stage_id_fkey":     {`UPDATE comeback_stage SET stage_id = gen_random_uuid()`},
	"comeback_stage_comeback_id_fkey":  {`UPDATE comeback_stage SET comeback_id = gen_random_uuid()`},
}

func fillComebacks(t *testing.T, db *pg.DB) {
	t.Helper()
	const closed = `INSERT INTO comeback (id, piece_id, sold_at, reported_at, reported_by, note, warranty, in_shop, outcome, outcome_note, closed_at, returned_at, actor,
		source, certainty, product_name, lot, stage_title, judge_note, judged_by, version)
		SELECT gen_random_uuid(), id, now(), now(), '', '', true, true, 'declined', '', now(), now(), 'Nell', '', '', '', '', '', '', '', 1 FROM piece ORDER BY id LIMIT 1`
	for _, sql := range []string{
		closed, closed,
		`INSERT INTO comeback_fault (comeback_id, nth, kind, part_label, photo, note) SELECT id, 1, 'runs', '', '', '' FROM comeback LIMIT 1`,
		`INSERT INTO comeback_stage (stage_id, comeback_id) SELECT s.id, c.id FROM stage s, comeback c ORDER BY s.id LIMIT 1`,
	} {
		if err := execute(t, db, sql); err != nil {
			t.Fatal(err)
		}
	}
}
