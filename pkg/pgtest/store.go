package pgtest

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/pg"
)

// UntilOneWaits returns when a connection to this database waits for a lock.
func UntilOneWaits(t testing.TB, db *pg.DB) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); {
		var waiting int
		err := db.View(t.Context(), func(q pg.Querier) error {
			return q.QueryRow(t.Context(), `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`).Scan(&waiting)
		})
		if err != nil {
			t.Error(err)
			return
		}
		if waiting > 0 {
			return
		}
	}
	t.Error("the second did not wait for the first")
}

// ConstraintNames lists the constraints (but for NOT NULL) and the unique indexes of the
// service's own tables, by name; primary keys only if they are asked for.
func ConstraintNames(t testing.TB, db *pg.DB, primary bool) (names []string) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		rows, err := q.Query(t.Context(), `
			SELECT conname::text COLLATE "C" FROM pg_constraint
			WHERE connamespace = current_schema::regnamespace AND contype <> 'n' AND (contype <> 'p' OR $1) AND conrelid <> 'schema_version'::regclass
			UNION
			SELECT c.relname::text FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
			WHERE c.relnamespace = current_schema::regnamespace AND i.indisunique AND (NOT i.indisprimary OR $1) AND i.indrelid <> 'schema_version'::regclass
			ORDER BY 1`, primary)
		if err != nil {
			return err
		}
		names, err = pgx.CollectRows(rows, pgx.RowTo[string])
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// TurnPages reads a list from its beginning in pages of a size, and does between, if there
// is any, after the first of them.
func TurnPages[T any](t testing.TB, size int32, read func(last T, limit int32) []T, between func()) (all []T) {
	t.Helper()
	var last T
	for {
		page := read(last, size)
		if len(page) > int(size) {
			t.Fatalf("a page of %d, want at most %d", len(page), size)
		}
		if all = append(all, page...); len(page) < int(size) {
			return all
		}
		if len(all) > 100 {
			t.Fatalf("pages of %d have no end", size)
		}
		last = page[len(page)-1]
		if between != nil {
			between()
			between = nil
		}
	}
}
