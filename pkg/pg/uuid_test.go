package pg_test

import (
	"slices"
	"testing"

	"github.com/google/uuid"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// Ids come back as they went, alone, in lists and where there is none.
func TestDB_ReadsIDs(t *testing.T) {
	db := open(t)
	one, other := id.New(), id.New()
	err := db.View(t.Context(), func(q pg.Querier) error {
		var got id.ID
		var some, none uuid.NullUUID
		var many []id.ID
		var maybe []uuid.NullUUID
		none.Valid = true
		err := q.QueryRow(t.Context(), `SELECT $1::uuid, $1::uuid, NULL::uuid, ARRAY [$1, $2]::uuid[], ARRAY [$1, NULL]::uuid[]`, one, other).Scan(&got, &some, &none, &many, &maybe)
		if got != one || some != (uuid.NullUUID{UUID: one, Valid: true}) || none.Valid || !slices.Equal(many, []id.ID{one, other}) {
			t.Errorf("read %v, %v, %v and %v; want %v, and %v with it", got, some, none, many, one, other)
		}
		if !slices.Equal(maybe, []uuid.NullUUID{{UUID: one, Valid: true}, {}}) {
			t.Errorf("read %v, want %v and none", maybe, one)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	err = db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT NULL::uuid`).Scan(new(id.ID))
	})
	if err == nil {
		t.Error("NULL was read as an id")
	}
}
