package svctest

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
)

// rows looks at every row of every table of a service. It keeps its connection, for a test
// looks often.
type rows struct {
	mu    sync.Mutex
	conn  *pgx.Conn
	query string
}

// fingerprint sums up every row of every table of the service's schema, but for what the
// service notes by itself now and then: when it last compared itself with others and how far it has
// heard them, what sales learns of its past, and that an event has been published.
func (s *Service) fingerprint(t testing.TB) (sum string) {
	t.Helper()
	s.rows.mu.Lock()
	defer s.rows.mu.Unlock()
	if s.rows.conn == nil {
		if err := s.rows.open(t.Context(), s.URL, s.name); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.rows.conn.QueryRow(t.Context(), s.rows.query).Scan(&sum); err != nil {
		t.Fatal(err)
	}
	return sum
}

// open connects and asks once which tables there are: services make them only when they start.
func (r *rows) open(ctx context.Context, url, schema string) (err error) {
	if r.conn, err = pgx.Connect(ctx, url); err != nil {
		return err
	}
	found, err := r.conn.Query(ctx, `SELECT format('%I.%I', schemaname, tablename) FROM pg_tables WHERE schemaname = $1 AND tablename NOT IN ('source', 'applied') AND tablename NOT LIKE 'past\_%' ORDER BY 1`, schema)
	if err != nil {
		return err
	}
	tables, err := pgx.CollectRows(found, pgx.RowTo[string])
	if err != nil {
		return err
	}
	var sums []string
	for _, table := range tables {
		sums = append(sums, fmt.Sprintf(`SELECT '%[1]s=' || coalesce(md5(string_agg(r, E'\n' ORDER BY r)), '') AS of_table
			FROM (SELECT (to_jsonb(t) - '{published_at,stream_seq}'::text[])::text AS r FROM %[1]s AS t) AS every`, table))
	}
	r.query = "SELECT string_agg(of_table, E'\\n' ORDER BY of_table) FROM (" + strings.Join(sums, " UNION ALL ") + ") AS tables"
	return nil
}

func (r *rows) close() {
	if r.conn != nil {
		_ = r.conn.Close(context.Background())
	}
}
