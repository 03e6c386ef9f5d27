package cli

import (
	"os"
	"strings"
	"testing"
)

// An empty folder is no folder: above all not the one the person happens to be in.
func TestReach_EmptyFolderIsNone(t *testing.T) {
	t.Chdir(t.TempDir())
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	refused := func(want string, args ...string) {
		t.Helper()
		if code, out, errs := run(t, args...); code == 0 || out != "" || !strings.Contains(errs, want) {
			t.Errorf("shop %s exits %d and prints %q and %q, want a refusal that says %q", strings.Join(args, " "), code, out, errs, want)
		}
	}
	refused("no shop is running here; start one with: shop up --data DIR", "piece", "list", "--shop", "")
	refused("no shop is running here; start one with: shop up --data DIR", "piece", "list", "--shop=")
	refused("say which folder everything is kept in: --data DIR", "up", "--data", "")
	refused("say which folder everything is kept in: --data DIR", "up", "--data=")
	t.Setenv("TACKFREE_SHOP", "")
	refused("no shop is running here; start one with: shop up --data DIR", "piece", "list")
	if left, err := os.ReadDir("."); err != nil || len(left) > 0 {
		t.Errorf("the folder holds %v now, %v", left, err)
	}
}

func TestReach_OneWayOnly(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.refuses(t, []string{"piece", "list", "--shop", t.TempDir()}, "not by both")
	f.without = []string{"intake", "workflow", "sales", "costing"}
	f.says(t, []string{"stock", "list"}, "Clear coat")
	f.refuses(t, []string{"piece", "list"}, "nobody says where intake serves: use --intake-addr or TACKFREE_INTAKE_ADDR")
}

// What cannot be is refused before anything is made.
func TestUp_RefusesBeforeItStarts(t *testing.T) {
	t.Parallel()
	for want, flags := range map[string][]string{
		`"Chicago" is not an IANA time zone, such as Europe/Madrid`:  {"--zone", "Chicago"},
		`"Local" is not an IANA time zone`:                           {"--zone", "Local"},
		`"usd" is not an ISO 4217 currency code`:                     {"--currency", "usd"},
		`"7411" is not an address to listen on`:                      {"--listen", "7411"},
		`"http" is not a port to listen on: it must be a number`:     {"--listen", "127.0.0.1:http"},
		`"65532" is not a port to listen on: it must be a number up`: {"--listen", "127.0.0.1:65532"},
		`"-1" is not a port to listen on`:                            {"--listen", "127.0.0.1:-1"},
	} {
		dir := t.TempDir() + "/shop"
		code, out, errs := run(t, append([]string{"up", "--database-url=", "--data", dir}, flags...)...)
		if code != 1 || out != "" || !strings.Contains(errs, want) {
			t.Errorf("shop up %v exits %d and prints %q and %q, want a refusal that says %q", flags, code, out, errs, want)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Errorf("shop up %v made the folder", flags)
		}
	}
}

func TestBench_RefusesToMeasureNothing(t *testing.T) {
	t.Parallel()
	for _, what := range []string{"clock", "costing", "lag"} {
		if code, _, errs := run(t, "bench", what, "--rounds", "0"); code != 1 || errs != "shop: there must be at least 1 round, not 0\n" {
			t.Errorf("bench %s of no rounds exits %d: %s", what, code, errs)
		}
		if code, _, errs := run(t, "bench", what, "--slice", "0s"); code != 1 || errs != "shop: a turn must take at least 1s, not 0s\n" {
			t.Errorf("bench %s of no length exits %d: %s", what, code, errs)
		}
	}
}
