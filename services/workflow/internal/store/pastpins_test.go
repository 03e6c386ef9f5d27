package store_test

import (
	"maps"
	"testing"

	"tackfree/pkg/pg"
)

func init() { maps.Copy(past, pastPins) }

// pastPins is what past is for what is pinned of the plan.
var pastPins = map[string][]string{
	"stage_pin_stage_id_fkey":  {`UPDATE stage_pin SET stage_id = gen_random_uuid()`},
	"stage_pin_person_id_fkey": {`UPDATE stage_pin SET person_id = gen_random_uuid()`},
	"stage_pin_pass_check":     {`UPDATE stage_pin SET pass = 0`},
	"stage_pin_pins_something": {`UPDATE stage_pin SET person_id = NULL, start_at = NULL`},
}

func fillPins(t *testing.T, db *pg.DB) {
	t.Helper()
	err := execute(t, db, `INSERT INTO stage_pin (stage_id, pass, person_id, start_at, actor, pinned_at)
		SELECT s.id, 1, p.id, NULL, 'Lead', now() FROM stage s, person p WHERE p.display_name = 'Nell' ORDER BY s.id LIMIT 1`)
	if err != nil {
		t.Fatal(err)
	}
}
