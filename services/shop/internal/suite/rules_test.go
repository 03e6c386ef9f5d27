package suite

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tackfree/pkg/pgtest"
)

// A file of account rules that do not balance is refused by name before anything is started or made.
func TestStart_RefusesBadAccountRules(t *testing.T) {
	file := filepath.Join(t.TempDir(), "rules.yaml")
	text := "accounts: [{name: cash, title: Cash, kind: asset}]\nrules: {gift: {amounts: [sum], debit: [{account: cash, amount: sum}]}}\n"
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "shop")
	_, _, err := opened(t, Options{Dir: dir, DatabaseURL: pgtest.Empty(t), Currency: "USD", Zone: "UTC", AccountRules: file})
	if err == nil || !strings.Contains(err.Error(), `account rule "gift": it does not balance`) || !strings.Contains(err.Error(), file) {
		t.Errorf("Start = %v, want it to name the file and the rule", err)
	}
	if _, err := os.Stat(dir); err == nil {
		t.Error("a folder was made all the same")
	}
}
