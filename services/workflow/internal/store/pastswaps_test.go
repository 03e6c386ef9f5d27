package store_test

import (
	"maps"
	"testing"

	"tackfree/pkg/pg"
)

func init() { maps.Copy(past, pastSwaps) }

// pastSwaps is what past is for what people do not want and offer each other.
var pastSwaps = map[string][]string{
	"stage_refusal_stage_id_fkey":  {`UPDATE stage_refusal SET stage_id = gen_random_uuid()`},
	"stage_refusal_person_id_fkey": {`UPDATE stage_refusal SET person_id = gen_random_uuid()`},
	"stage_refusal_pass_check":     {`UPDATE stage_refusal SET pass = 0`},
	"stage_swap_stage_id_fkey":     {`UPDATE stage_swap SET stage_id = gen_random_uuid()`},
	"stage_swap_for_stage_id_fkey": {`UPDATE stage_swap SET for_stage_id = gen_random_uuid(), for_pass = 1`},
	"stage_swap_from_id_fkey":      {`UPDATE stage_swap SET from_id = gen_random_uuid()`},
	"stage_swap_to_id_fkey":        {`UPDATE stage_swap SET to_id = gen_random_uuid()`},
	"stage_swap_pass_check":        {`UPDATE stage_swap SET pass = 0`},
	"stage_swap_for_pass_check":    {`UPDATE stage_swap SET for_pass = -1`},
	"stage_swap_state_check":       {`UPDATE stage_swap SET state = 'lost', ended_at = now()`},
	"swap_is_of_two":               {`UPDATE stage_swap SET to_id = from_id`},
	"swap_says_when_it_ended":      {`UPDATE stage_swap SET ended_at = now()`, `UPDATE stage_swap SET state = 'declined'`},
	"swap_wants_a_pass":            {`UPDATE stage_swap SET for_pass = 1 WHERE for_stage_id IS NULL`},
	"swap_open_once":               {`UPDATE stage_swap SET stage_id = (SELECT id FROM stage LIMIT 1)`},
}

func fillSwaps(t *testing.T, db *pg.DB) {
	t.Helper()
	for _, sql := range []string{
		`INSERT INTO stage_refusal (stage_id, person_id, pass, reason, actor, refused_at)
		 SELECT s.id, p.id, 1, '', 'Nell', now() FROM stage s, person p WHERE p.display_name = 'Nell' ORDER BY s.id LIMIT 1`,
		`INSERT INTO stage_swap (id, from_id, to_id, stage_id, pass, for_pass, note, state, offered_at, actor)
		 SELECT gen_random_uuid(), p.id, o.id, s.id, 1, 0, '', 'open', now(), 'Nell' FROM stage s, person p, person o
		 WHERE p.display_name = 'Nell' AND o.display_name = 'Odo' ORDER BY s.id LIMIT 2`,
	} {
		if err := execute(t, db, sql); err != nil {
			t.Fatal(err)
		}
	}
}
