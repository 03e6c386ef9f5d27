package costingsvc_test

import (
	"bytes"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tackfree/pkg/boot"
	"tackfree/services/costing/costingsvc"
	"tackfree/services/costing/internal/costing"
)

// Account rules that would book out of balance, or that cannot be read, keep costing from starting, and
// it says which file and which rule. It looks at nothing else before: there is no database here.
func TestRun_RefusesBadAccountRules(t *testing.T) {
	for name, c := range map[string]struct{ old, by, want string }{
		"OutOfBalance": {"amount: actual + indirect - applied", "amount: actual + indirect", `account rule "month_closed": it does not balance`},
		"Missing":      {"  overhead_spent:", "  overhead_some_day:", `account rule "overhead_spent" is missing`},
		"NotClosed":    {"credit: [{account: overhead_applied, amount: share}]", "credit: [{account: overhead_actual, amount: share}]", `account rule "overhead" must not book anything on account overhead_actual`},
		"Unreadable":   {"accounts:", "accounts", "the account rules cannot be read"},
	} {
		t.Run(name, func(t *testing.T) {
			text := bytes.Replace(costing.StandardText(), []byte(c.old), []byte(c.by), 1)
			if bytes.Equal(text, costing.StandardText()) {
				t.Fatalf("the rules have no %q", c.old)
			}
			file := filepath.Join(t.TempDir(), "rules.yaml")
			if err := os.WriteFile(file, text, 0o600); err != nil {
				t.Fatal(err)
			}
			err := costingsvc.Run(t.Context(), boot.Config{AccountRules: boot.RulesFile(file)}, boot.Deps{Logger: slog.New(slog.DiscardHandler)})
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), file) {
				t.Errorf("Run = %v, want an error that names %s and says %s", err, file, c.want)
			}
		})
	}
	gone := filepath.Join(t.TempDir(), "gone.yaml")
	if err := costingsvc.Run(t.Context(), boot.Config{AccountRules: boot.RulesFile(gone)}, boot.Deps{Logger: slog.New(slog.DiscardHandler)}); err == nil || !strings.Contains(err.Error(), gone) {
		t.Errorf("Run = %v, want an error that names %s", err, gone)
	}
}

// The word for the program's own account rules is no file, also where costing runs by itself.
func TestAccountRules_TheProgramsOwn(t *testing.T) {
	for _, said := range []boot.RulesFile{"", boot.ProgramRules} {
		text, madeBy, err := costingsvc.AccountRules(said)
		if err != nil || !bytes.Equal(text, costing.StandardText()) || madeBy == "" {
			t.Errorf("AccountRules(%q) = %d bytes, %q, %v", said, len(text), madeBy, err)
		}
	}
}

// The shop's own file of before there were rules for deposits still opens the shop: what it lacks of them is the program's. It is kept and
// marked as it is written.
func TestAccountRules_OlderFile(t *testing.T) {
	text := costing.StandardText()
	from, to := bytes.Index(text, []byte("  deposit_received:")), bytes.Index(text, []byte("  # Where the cost of a piece stands"))
	older := bytes.Replace(append(bytes.Clone(text[:from]), text[to:]...), []byte("  - {name: deposits_kept, title: Deposits kept, kind: income}\n"), nil, 1)
	file := filepath.Join(t.TempDir(), "rules.yaml")
	if err := os.WriteFile(file, older, 0o600); err != nil {
		t.Fatal(err)
	}
	got, madeBy, err := costingsvc.AccountRules(boot.RulesFile(file))
	if err != nil || !bytes.Equal(got, older) || bytes.Contains(older, []byte("deposits_kept, title")) {
		t.Fatalf("AccountRules of an older file = %d bytes, %v", len(got), err)
	}
	if _, standard, err := costingsvc.AccountRules(""); err != nil || standard == madeBy {
		t.Errorf("books by it are marked as those by the program's: %q, %v", madeBy, err)
	}
}
