package server_test

import (
	"testing"

	"github.com/jackc/pgx/v5"
)

// exec harms the service's tables.
func (o *office) exec(t testing.TB, sql string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), o.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatal(err)
	}
}
