package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Account rules are a file that is there, or the word for those of the program; any other word is
// refused before anything is made.
func TestUp_AccountRules(t *testing.T) {
	t.Chdir(t.TempDir())
	here, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("own.yaml", []byte("accounts: []\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(here, "shop")
	for typed, want := range map[string]string{
		"none":     "there is no file " + filepath.Join(here, "none") + "; the word program means those that come with the program",
		".":        "there is no file " + here,
		"own.yaml": filepath.Join(here, "own.yaml") + ": account ",
	} {
		code, out, errs := run(t, "up", "--database-url=", "--data", dir, "--account-rules", typed)
		if code == 0 || out != "" || !strings.Contains(errs, want) {
			t.Errorf("shop up --account-rules %s exits %d and prints %q and %q, want a refusal that says %q", typed, code, out, errs, want)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Errorf("shop up --account-rules %s made the folder", typed)
		}
	}
	for _, typed := range []string{"program", ""} {
		code, _, errs := run(t, "up", "--database-url=", "--data", dir, "--zone", "Mars", "--account-rules", typed)
		if code == 0 || !strings.Contains(errs, "not an IANA time zone") {
			t.Errorf("shop up --account-rules %q: %s, want no more amiss than the zone", typed, errs)
		}
	}
}
