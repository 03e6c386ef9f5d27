package boot

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/alecthomas/kong"
)

func TestConfig_Defaults(t *testing.T) {
	var c Config
	parser, err := kong.New(&c, vars("costing"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parser.Parse([]string{"--database-url", "postgres://x", "--zone", "Europe/Madrid"}); err != nil {
		t.Fatal(err)
	}
	if c.Currency != "USD" || c.Zone != "Europe/Madrid" || c.Reconcile != 30*time.Second || c.addr("sales") != "127.0.0.1:7414" || c.addr("nobody") != "" || c.Listen != "127.0.0.1:7415" {
		t.Errorf("config = %+v", c)
	}
	if _, err := parser.Parse([]string{"--log-level", "loud"}); err == nil {
		t.Error("a log level that is none was taken")
	}
	if _, err := parser.Parse([]string{"--databse-url", "x"}); err == nil {
		t.Error("a misspelt flag was taken")
	}
}

// Account rules are a file, found from where the service was started, or the word for those of the
// program; the other services of the same environment may well not have the file.
func TestConfig_AccountRules(t *testing.T) {
	t.Chdir(t.TempDir())
	here, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for said, want := range map[string]RulesFile{"program": ProgramRules, "": "", "own.yaml": RulesFile(filepath.Join(here, "own.yaml"))} {
		t.Setenv("TACKFREE_ACCOUNT_RULES", said)
		var c Config
		parser, err := kong.New(&c, vars("costing"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := parser.Parse(nil); err != nil || c.AccountRules != want {
			t.Errorf("account rules %q are %q, %v, want %q", said, c.AccountRules, err, want)
		}
	}
}

// Each service looks for the others where they serve by default.
func TestConfig_DefaultAddresses(t *testing.T) {
	for service, port := range ports {
		var c Config
		parser, err := kong.New(&c, vars(service))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := parser.Parse(nil); err != nil {
			t.Fatal(err)
		}
		if want := "127.0.0.1:" + port; c.Listen != want || (service != "costing" && c.addr(service) != want) {
			t.Errorf("%s serves on %s and is looked for on %s, want %s", service, c.Listen, c.addr(service), want)
		}
	}
}

// A secret is read from its file, with the line end that editors leave.
func TestConfig_DatabaseURLFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "url")
	if err := os.WriteFile(file, []byte("postgres://intake:secret@db/shop\n"), 0o400); err != nil {
		t.Fatal(err)
	}
	got, err := Config{DatabaseURL: "postgres://other", DatabaseURLFile: file}.databaseURL()
	if err != nil || got != "postgres://intake:secret@db/shop" {
		t.Errorf("databaseURL = %q, %v", got, err)
	}
}

func TestAlone(t *testing.T) {
	for name, address := range map[string]string{"TCP": "127.0.0.1:0", "Unix": "unix:" + filepath.Join(t.TempDir(), "s")} {
		t.Run(name, func(t *testing.T) {
			ran := false
			err := alone(t.Context(), "intake", Config{Listen: address, BrokerURL: "nats://127.0.0.1:1", SalesAddr: "127.0.0.1:7414"}, quiet,
				func(_ context.Context, _ Config, d Deps) error {
					ran = true
					defer d.Listeners[0].Close()
					if d.Bus == nil || d.Logger == nil || time.Since(d.Now()) > time.Minute || len(d.Listeners) != 1 {
						t.Errorf("deps = %+v", d)
					}
					_, err := d.Dial("sales")
					return err
				})
			if err != nil || !ran {
				t.Errorf("alone = %v, ran = %v", err, ran)
			}
		})
	}
	err := alone(t.Context(), "intake", Config{Listen: "nowhere", BrokerURL: "nats://127.0.0.1:1"}, quiet, func(context.Context, Config, Deps) error {
		t.Error("it ran without an address")
		return nil
	})
	if err == nil {
		t.Error("alone = nil without an address")
	}
}

func TestLevel(t *testing.T) {
	for name, want := range map[string]slog.Level{"debug": slog.LevelDebug, "info": slog.LevelInfo, "warn": slog.LevelWarn, "error": slog.LevelError, "?": slog.LevelInfo} {
		if got := level(name); got != want {
			t.Errorf("level(%s) = %s, want %s", name, got, want)
		}
	}
}
