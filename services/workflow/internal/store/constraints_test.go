package store_test

import (
	"context"
	"maps"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// past writes, for each constraint of the tables, what it refuses. There are two people,
// two routes and two pieces with their stages; the first person has three entries, of
// which the last corrects the first.
var past = map[string][]string{
	"person_name_once":                  {`UPDATE person SET name_key = 'nell'`},
	"person_version_check":              {`UPDATE person SET version = 0`},
	"route_word_once":                   {`UPDATE route SET word = 'painted'`},
	"route_version_check":               {`UPDATE route SET version = 0`},
	"step_route_id_fkey":                {`UPDATE step SET route_id = gen_random_uuid()`, `DELETE FROM route`},
	"step_scope_check":                  {`UPDATE step SET scope = 'shop'`, `UPDATE step SET scope = ''`},
	"step_attended_minutes_check":       {`UPDATE step SET attended_minutes = -1`},
	"step_unattended_minutes_check":     {`UPDATE step SET unattended_minutes = -1`},
	"step_key_once":                     {`UPDATE step SET key = 'sand' WHERE route_id IN (SELECT id FROM route WHERE word = 'painted')`},
	"piece_version_check":               {`UPDATE piece SET version = -1`},
	"stage_piece_id_fkey":               {`UPDATE stage SET piece_id = gen_random_uuid()`, `DELETE FROM piece WHERE tag = 2`},
	"stage_attended_minutes_check":      {`UPDATE stage SET attended_minutes = -1`},
	"stage_unattended_minutes_check":    {`UPDATE stage SET unattended_minutes = -1`},
	"stage_pass_counts_send_backs":      {`UPDATE stage SET pass = 0`, `UPDATE stage SET pass = 2`, `UPDATE stage SET send_back_times = '{now}'`},
	"stage_assignee_id_fkey":            {`UPDATE stage SET assignee_id = gen_random_uuid()`, `DELETE FROM person WHERE display_name = 'Odo'`},
	"stage_place_once":                  {`UPDATE stage SET position = 1`},
	"clock_entry_person_id_fkey":        {`UPDATE clock_entry SET person_id = gen_random_uuid()`, `DELETE FROM person WHERE display_name = 'Nell'`},
	"clock_entry_piece_id_fkey":         {`UPDATE clock_entry SET piece_id = gen_random_uuid()`},
	"clock_entry_stage_id_fkey":         {`UPDATE clock_entry SET stage_id = gen_random_uuid()`, `DELETE FROM stage`},
	"clock_entry_pass_check":            {`UPDATE clock_entry SET pass = 0`},
	"clock_entry_corrects_fkey":         {`UPDATE clock_entry SET corrects = gen_random_uuid() WHERE corrects IS NOT NULL`, `DELETE FROM clock_entry WHERE superseded`},
	"clock_ends_after_start":            {`UPDATE clock_entry SET ended_at = started_at`},
	"clock_one_pair_of_hands":           {`UPDATE clock_entry SET superseded = false`, `UPDATE clock_entry SET ended_at = NULL`},
	"part_test_piece_id_fkey":           {`UPDATE part_test SET piece_id = gen_random_uuid()`},
	"part_test_kind_check":              {`UPDATE part_test SET kind = 'smell'`},
	"part_test_person_id_fkey":          {`UPDATE part_test SET person_id = gen_random_uuid()`},
	"acknowledgement_stage_id_fkey":     {`UPDATE acknowledgement SET stage_id = gen_random_uuid()`},
	"acknowledgement_person_id_fkey":    {`UPDATE acknowledgement SET person_id = gen_random_uuid()`},
	"stage_needs_check":                 {`UPDATE stage SET needs = 'dry'`},
	"stage_latest_minutes_check":        {`UPDATE stage SET latest_minutes = -1`},
	"finish_plan_piece_id_fkey":         {`UPDATE finish_plan SET piece_id = gen_random_uuid()`},
	"finish_plan_version_check":         {`UPDATE finish_plan SET version = 0 WHERE version = 1`},
	"finish_plan_state_check":           {`UPDATE finish_plan SET state = 'lost'`},
	"finish_plan_one_draft":             {`UPDATE finish_plan SET state = 'draft'`},
	"finish_plan_one_approved":          {`UPDATE finish_plan SET state = 'approved'`},
	"zone_word_once":                    {`UPDATE zone SET word = 'bench'`},
	"zone_kind_check":                   {`UPDATE zone SET kind = 'attic'`},
	"zone_readings_check":               {`UPDATE zone SET readings = -1`},
	"zone_version_check":                {`UPDATE zone SET version = 0`},
	"reading_zone_id_fkey":              {`UPDATE reading SET zone_id = gen_random_uuid()`},
	"stage_zone_id_fkey":                {`UPDATE stage SET zone_id = gen_random_uuid()`},
	"dry_clock_stage_id_fkey":           {`UPDATE dry_clock SET stage_id = gen_random_uuid()`},
	"dry_clock_piece_id_fkey":           {`UPDATE dry_clock SET piece_id = gen_random_uuid()`},
	"dry_clock_zone_id_fkey":            {`UPDATE dry_clock SET zone_id = gen_random_uuid()`},
	"dry_clock_kind_check":              {`UPDATE dry_clock SET kind = 'smoke'`},
	"dry_clock_needs_check":             {`UPDATE dry_clock SET needs = ''`},
	"dry_clock_zones_have_times":        {`UPDATE dry_clock SET zone_from = '{}'`},
	"drying_outcome_says_something":     {`UPDATE drying_outcome SET not_yet_at = NULL, reached_at = NULL`},
	"labour_history_person_id_fkey":     {`UPDATE labour_history SET person_id = gen_random_uuid()`},
	"labour_observation_stage_id_fkey":  {`UPDATE labour_observation SET stage_id = gen_random_uuid()`},
	"labour_observation_person_id_fkey": {`UPDATE labour_observation SET person_id = gen_random_uuid()`},
	"labour_observation_is_somebodys":   {`UPDATE labour_observation SET person_id = NULL`},
	"labour_history_n_check":            {`UPDATE labour_history SET n = 0`},
	"clock_corrected_once":              {`UPDATE clock_entry SET corrects = (SELECT id FROM clock_entry WHERE superseded)`},
}

// crowded keeps what past's statements are about, and gives a reader of all of it.
func crowded(t *testing.T, db *pg.DB) func() everything {
	t.Helper()
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	must(t, db, saved(painted(), plain("waxed")))
	dresser, table := plan(t, db, 1), plan(t, db, 2)
	s := table.Stages[stripTop]
	s.Assignee = odo.ID
	update(t, db, s)
	old := stretch(nell, dresser, stripTop, 0, 30)
	_, correct := correction(old, 5, 30)
	clock(t, db, old, stretch(nell, dresser, stripTop, 40, 50))
	must(t, db, correct)
	tested(t, db, test(dresser, id.Nil, workflow.LeadTest, 0, workflow.LeadFree))
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.SaveRead(ctx, old, []string{"lead"}, after(0))
	})
	rack, bench := zoned(t, db, "rack"), zoned(t, db, "bench")
	airRead(t, db, airOf(bench, 1, 20, 50))
	_, wet := varnished(t, db, 3, rack)
	observed(t, db, wet, 1)
	keepPlans(t, db, finishPlan(dresser, 1, workflow.PlanApproved), finishPlan(dresser, 2, workflow.PlanDraft))
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.Learn(ctx, dresser.Stages[stripTop].ID, took(nell, "sand", 1))
	})
	fillFloor(t, db)
	fillSignIn(t, db)
	fillPins(t, db)
	fillSwaps(t, db)
	fillComebacks(t, db)
	fillPlans(t, db)
	return func() everything { return readAll(t, db, dresser.Piece.ID, table.Piece.ID) }
}

func execute(t *testing.T, db *pg.DB, sql string) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, sql)
		return err
	})
}

func TestStore_TablesRefuse(t *testing.T) {
	db := setup(t)
	read := crowded(t, db)
	before := read()
	for constraint, statements := range past {
		for _, sql := range statements {
			if err := execute(t, db, sql); !pg.Violates(err, constraint) {
				t.Errorf("%s = %v, want %s", sql, err, constraint)
			}
		}
	}
	// A span that runs backwards is none, which the table sees before its constraints.
	if err := execute(t, db, `UPDATE clock_entry SET ended_at = started_at - interval '1 microsecond'`); err == nil {
		t.Error("an entry ends before it starts")
	}
	same(t, "refused, but changed", before, read())
}

// Each constraint of the tables has a case here, and each that the store has words for is
// there under that name.
func TestStore_ConstraintsAreThoseOfTheTables(t *testing.T) {
	there := pgtest.ConstraintNames(t, setup(t), false)
	if diff := cmp.Diff(slices.Sorted(maps.Keys(past)), there); diff != "" {
		t.Errorf("constraints (-with a case here +in the tables):\n%s", diff)
	}
	const byTrigger = "station_holds_no_more" // which has no name in the catalogue
	for name := range store.Constraints {
		if name != byTrigger && !slices.Contains(there, name) {
			t.Errorf("no table has the constraint %s", name)
		}
	}
}
