package server_test

import (
	"context"
	"strings"
	"sync"
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

// harmer is a connection of an administrator's own that is kept, for some tests harm tables often.
type harmer struct {
	mu   sync.Mutex
	conn *pgx.Conn
}

// exec harms the service's tables.
func (o *office) exec(t testing.TB, sql string) {
	t.Helper()
	o.harmer.mu.Lock()
	defer o.harmer.mu.Unlock()
	if o.harmer.conn == nil {
		conn, err := pgx.Connect(t.Context(), o.URL)
		if err != nil {
			t.Fatal(err)
		}
		o.harmer.conn = conn
	}
	if _, err := o.harmer.conn.Exec(t.Context(), sql); err != nil {
		t.Fatal(err)
	}
}

func (h *harmer) close() {
	if h.conn != nil {
		_ = h.conn.Close(context.Background())
	}
}
