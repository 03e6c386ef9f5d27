package store_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/boot"
	"tackfree/pkg/finish"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
)

// What was learned by the old usual times forecasts the same after the new ones. By hand: a coat of 2 m² usually took
// 8 + 11 × 2 = 30 minutes, and now takes 5 + 7 × 2 = 19. Here it took 45 and 60: 1.5 and 2 times the old usual. A
// kind that a shop made up, what taught nothing, and a coat of which no more than the sums was kept, stay as they are.
func TestMigrations_UsualTimes(t *testing.T) {
	c := pgtest.Config(t, "workflow")
	if err := pg.Migrate(t.Context(), c, boot.Migrations(before(t, "00008"))); err != nil {
		t.Fatal(err)
	}
	db, err := pg.Open(t.Context(), c, store.Constraints)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	for _, sql := range learnedBefore {
		if err := execute(t, db, sql); err != nil {
			t.Fatal(err)
		}
	}
	if err := pg.Migrate(t.Context(), c, boot.Migrations(store.Migrations)); err != nil {
		t.Fatal(err)
	}
	usual, err := finish.Step{Kind: finish.TopcoatCoat}.Attended(2)
	if err != nil || usual != 19*time.Minute {
		t.Fatalf("a coat of 2 m² usually takes %v, %v, want 19 min", usual, err)
	}
	y1, y2 := math.Log(45.0/19), math.Log(60.0/19)
	for kind, want := range map[string][3]float64{"topcoat_coat": {3, y1 + y2 + 0.5, y1*y1 + y2*y2 + 0.25}, "gild": {1, 0.25, 0.0625}, "sand": {}} {
		if got := historyOf(t, db, kind); math.Abs(got[0]-want[0])+math.Abs(got[1]-want[1])+math.Abs(got[2]-want[2]) > 1e-9 {
			t.Errorf("of %s is learned %v, want %v", kind, got, want)
		}
	}
}

// historyOf is how often a kind was done here, and its sums.
func historyOf(t *testing.T, db *pg.DB, kind string) (sums [3]float64) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT coalesce(sum(n), 0)::float8, coalesce(sum(sum), 0), coalesce(sum(squares), 0) FROM labour_history WHERE kind = $1`, kind).Scan(&sums[0], &sums[1], &sums[2])
	})
	if err != nil {
		t.Fatal(err)
	}
	return sums
}

// learnedBefore is what a shop had learned of three coats, of one no more than the sums, of what it does itself, and not of a sanding.
var learnedBefore = []string{
	`INSERT INTO person (id, display_name, name_key, skills, version) VALUES (gen_random_uuid(), 'Nell', 'nell', '{}', 1)`,
	`INSERT INTO piece (id, tag, scrapped, planned, version) VALUES (gen_random_uuid(), 7, false, true, 1)`,
	`INSERT INTO stage (id, piece_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass, area_m2)
	SELECT gen_random_uuid(), piece.id, 'top', k.kind, k.kind, '', k.at, 30, 0, '{}', 1, 2 FROM piece, (VALUES ('topcoat_coat', 1), ('topcoat_coat', 2), ('gild', 3), ('sand', 4)) k (kind, at)`,
	`INSERT INTO labour_observation (stage_id, kind, person_id, y)
	SELECT s.id, s.kind, CASE WHEN s.kind <> 'sand' THEN p.id END, CASE s.position WHEN 1 THEN ln(1.5) WHEN 2 THEN ln(2.0) WHEN 3 THEN 0.25 ELSE 0 END FROM stage s, person p`,
	`INSERT INTO labour_history (kind, person_id, n, sum, squares)
	SELECT kind, person_id, count(*), sum(y), sum(y * y) FROM labour_observation WHERE person_id IS NOT NULL GROUP BY kind, person_id`,
	`UPDATE labour_history SET n = n + 1, sum = sum + 0.5, squares = squares + 0.25 WHERE kind = 'topcoat_coat'`,
}
