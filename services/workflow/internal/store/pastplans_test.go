package store_test

import (
	"maps"
	"testing"

	"tackfree/pkg/pg"
)

func init() { maps.Copy(past, pastPlans) }

// pastPlans is what past is for plans that were published.
var pastPlans = map[string][]string{
	"plan_publication_version_check": {`UPDATE plan_publication SET version = 0`},
	"plan_stage_stage_id_fkey":       {`UPDATE plan_stage SET stage_id = gen_random_uuid()`},
	"plan_stage_person_id_fkey":      {`UPDATE plan_stage SET person_id = gen_random_uuid()`},
	"plan_stage_station_id_fkey":     {`UPDATE plan_stage SET station_id = gen_random_uuid()`},
	"plan_stage_pass_check":          {`UPDATE plan_stage SET pass = 0`},
	"plan_given_stage_id_fkey":       {`UPDATE plan_given SET stage_id = gen_random_uuid()`},
	"plan_given_person_id_fkey":      {`UPDATE plan_given SET person_id = gen_random_uuid()`},
	"plan_stage_check":               {`UPDATE plan_stage SET end_at = start_at - interval '1 minute'`},
}

func fillPlans(t *testing.T, db *pg.DB) {
	t.Helper()
	for _, sql := range []string{
		`INSERT INTO plan_publication (version, id, published_at, actor, last_day) VALUES (1, gen_random_uuid(), now(), 'Nell', now())`,
		`INSERT INTO plan_stage (stage_id, pass, person_id, start_at, end_at)
		 SELECT s.id, 1, p.id, now(), now() FROM stage s, person p WHERE p.display_name = 'Nell' ORDER BY s.id LIMIT 1`,
		`INSERT INTO plan_given (stage_id, person_id) SELECT stage_id, person_id FROM plan_stage`,
	} {
		if err := execute(t, db, sql); err != nil {
			t.Fatal(err)
		}
	}
}
