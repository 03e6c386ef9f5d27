package store_test

import (
	"context"
	"errors"
	"maps"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// past writes, for each constraint of the tables, what it refuses. The first piece is
// bought and the second a client's; each has one part.
var past = map[string][]string{
	"piece_tag_check":            {`UPDATE piece SET tag = 0`, `UPDATE piece SET tag = -1`},
	"piece_tag_once":             {`UPDATE piece SET tag = 9`},
	"piece_price_check":          {`UPDATE piece SET price = -1 WHERE tag = 1`},
	"piece_state_check":          {`UPDATE piece SET state = 'sold'`, `UPDATE piece SET state = ''`},
	"piece_version_check":        {`UPDATE piece SET version = 0`},
	"piece_has_one_origin":       {`UPDATE piece SET client = 'Ana'`, `UPDATE piece SET price = NULL`},
	"part_piece_id_fkey":         {`UPDATE part SET piece_id = gen_random_uuid()`, `DELETE FROM piece`},
	"part_count_check":           {`UPDATE part SET count = 0`},
	"part_length_check":          {`UPDATE part SET length = -0.00000000000000000001`},
	"part_width_check":           {`UPDATE part SET width = -1`},
	"part_thickness_check":       {`UPDATE part SET thickness = -1`},
	"part_place":                 {`UPDATE part SET piece_id = (SELECT id FROM piece WHERE tag = 1)`},
	"tag_counter_only_one_check": {`INSERT INTO tag_counter (only_one, last) VALUES (false, 1)`},
}

func twoPieces(t *testing.T, db *pg.DB) []intake.Piece {
	t.Helper()
	bought, brought := stool(1), stool(2)
	brought.Purchase, brought.Client = nil, "Ana"
	keep(t, db, bought, brought)
	return []intake.Piece{bought, brought}
}

func TestStore_TablesRefuse(t *testing.T) {
	db := setup(t)
	pieces := twoPieces(t, db)
	for constraint, statements := range past {
		for _, sql := range statements {
			err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
				_, err := tx.Exec(ctx, sql)
				return err
			})
			if !pg.Violates(err, constraint) {
				t.Errorf("%s = %v, want %s", sql, err, constraint)
			}
		}
	}
	for _, p := range pieces {
		if diff := cmp.Diff(p, get(t, db, p.ID), exact); diff != "" {
			t.Errorf("refused, but changed (-before +after):\n%s", diff)
		}
	}
}

// What the domain cannot know, because it sees one piece, the tables tell in words.
func TestStore_Insert_TagTaken(t *testing.T) {
	db := setup(t)
	twoPieces(t, db)
	third := stool(2)
	err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.Insert(ctx, third) })
	if !fault.Is(err, "TAG_TAKEN") || !errors.Is(err, fault.Exists) || fault.Of(err).Fields[0].Path != "tag" {
		t.Errorf("Insert = %v, want TAG_TAKEN at tag", err)
	}
	err = view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Get(ctx, third.ID); return err })
	if !fault.Is(err, "PIECE_NOT_FOUND") {
		t.Errorf("Get of a refused piece = %v, want PIECE_NOT_FOUND", err)
	}
}

// Each constraint of the tables has a case here, and each that the store has words for is
// there under that name.
func TestStore_ConstraintsAreThoseOfTheTables(t *testing.T) {
	there := pgtest.ConstraintNames(t, setup(t), false)
	if diff := cmp.Diff(slices.Sorted(maps.Keys(past)), there); diff != "" {
		t.Errorf("constraints (-with a case here +in the tables):\n%s", diff)
	}
	for name := range store.Constraints {
		if !slices.Contains(there, name) {
			t.Errorf("no table has the constraint %s", name)
		}
	}
}
