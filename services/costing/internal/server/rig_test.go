package server_test

import (
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
)

// namesTheFlag checks that who is refused a second term of a day learns how to say that it replaces the first.
func namesTheFlag(t testing.TB, f *fault.Fault) {
	t.Helper()
	if !strings.Contains(f.Text, "(replaces, or --replace)") {
		t.Errorf("%s does not name the flag: %s", f.Reason, f.Text)
	}
}

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
