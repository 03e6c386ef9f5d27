package suite

import (
	"context"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/pgtest"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// opened opens a shop, reads what it is kept in, and closes it.
func opened(t *testing.T, o Options) (currency, zone string, err error) {
	t.Helper()
	o.Logger = slog.New(slog.DiscardHandler)
	s, err := Start(t.Context(), o)
	if err != nil {
		return "", "", err
	}
	defer s.Stop()
	return s.Currency(), s.Zone(), nil
}

// A shop is made once; opened again it is what it was, and another is refused.
func TestStart_KeepsWhatItWasMadeWith(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	url := pgtest.Empty(t)
	made := Options{Dir: t.TempDir(), DatabaseURL: url, Currency: "EUR", Zone: "Europe/Madrid"}
	if c, z, err := opened(t, made); err != nil || c != "EUR" || z != "Europe/Madrid" {
		t.Fatalf("made: %s, %s, %v", c, z, err)
	}
	for name, o := range map[string]Options{
		"again":             {Dir: made.Dir, DatabaseURL: url},
		"the same said":     made,
		"in another folder": {Dir: t.TempDir(), DatabaseURL: url}, // the database knows
	} {
		if c, z, err := opened(t, o); err != nil || c != "EUR" || z != "Europe/Madrid" {
			t.Errorf("%s: %s, %s, %v, want it as it was made", name, c, z, err)
		}
	}
	for name, o := range map[string]Options{
		"another currency":                      {Dir: made.Dir, DatabaseURL: url, Currency: "USD"},
		"another zone":                          {Dir: made.Dir, DatabaseURL: url, Zone: "America/Chicago"},
		"another currency, from another folder": {Dir: t.TempDir() + "/new", DatabaseURL: url, Currency: "USD"},
		"by its folder alone":                   {Dir: made.Dir, Currency: "USD"},
	} {
		_, _, err := opened(t, o)
		if err == nil || !strings.Contains(err.Error(), "made with currency EUR and zone Europe/Madrid") || !strings.Contains(err.Error(), "--data") {
			t.Errorf("%s: %v, want a refusal that says what to do", name, err)
		}
	}
	if _, err := os.Stat(filepath.Join(made.Dir, "postgres")); err == nil {
		t.Error("a Postgres was made for a shop that is refused")
	}
}

// A folder of before it kept this: once the database runs, it says it.
func TestOptions_SettleByWhatIsKnown(t *testing.T) {
	known := made{"EUR", "Europe/Madrid"}
	for _, c := range []struct {
		o       Options
		known   made
		want    made
		refused string
	}{
		{Options{}, made{}, made{"USD", "UTC"}, ""},
		{Options{Currency: "JPY"}, made{}, made{"JPY", "UTC"}, ""},
		{Options{}, known, known, ""},
		{Options{Zone: "Europe/Madrid"}, known, known, ""},
		{Options{Zone: "UTC"}, known, made{}, "leave --currency and --zone away"},
		{Options{Zone: "Mars"}, made{}, made{}, "not an IANA time zone"},
		{Options{Currency: "XYZ"}, made{}, made{}, "not an ISO 4217"},
	} {
		got, err := c.o.settle(c.known)
		if c.refused == "" && (err != nil || got != c.want) || c.refused != "" && (err == nil || !strings.Contains(err.Error(), c.refused)) {
			t.Errorf("settle(%+v, %v) = %v, %v, want %v or %q", c.o, c.known, got, err, c.want, c.refused)
		}
	}
}

func TestOptions_ABrokenNoteIsSaid(t *testing.T) {
	dir := t.TempDir()
	for _, text := range []string{"", "{}", `{"currency": "EUR"}`, "[1]"} {
		if err := os.WriteFile(filepath.Join(dir, madeFile), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if m, err := (Options{Dir: dir}).noted(); err == nil || !strings.Contains(err.Error(), madeFile) {
			t.Errorf("a note %q is read as %v, %v", text, m, err)
		}
	}
}

func TestPortAfter(t *testing.T) {
	for _, c := range []struct {
		first string
		place int
		want  string
	}{
		{"127.0.0.1:7411", 4, "127.0.0.1:7415"}, {":7411", 0, ":7411"}, {"[::1]:65531", 4, "[::1]:65535"}, {"127.0.0.1:0", 4, "127.0.0.1:0"},
	} {
		if got, err := portAfter(c.first, c.place); err != nil || got != c.want {
			t.Errorf("portAfter(%q, %d) = %q, %v, want %q", c.first, c.place, got, err, c.want)
		}
	}
}

// A port that somebody else has is a sentence with its address, and nothing is made: not
// the folder, and nothing in the database. Ports that were free are free again.
func TestStart_PortIsTaken(t *testing.T) {
	var lc net.ListenConfig
	taken, free := twoPorts(t)
	l, err := lc.Listen(t.Context(), "tcp", taken)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	url := pgtest.Empty(t)
	o := Options{Dir: filepath.Join(t.TempDir(), "shop"), DatabaseURL: url, Logger: slog.New(slog.DiscardHandler), Listen: free}
	if _, err := Start(t.Context(), o); err == nil || !strings.Contains(err.Error(), "workflow cannot serve on "+taken+", so choose another --listen") {
		t.Errorf("Start on a port that is taken = %v", err)
	}
	if _, err := os.Stat(o.Dir); !os.IsNotExist(err) {
		t.Errorf("the folder: %v, want none", err)
	}
	var schemas int
	query(t, url, `SELECT count(*) FROM pg_namespace WHERE nspname = 'intake'`, &schemas)
	if schemas > 0 {
		t.Error("the database has schemas")
	}
	if again, err := lc.Listen(t.Context(), "tcp", free); err != nil {
		t.Errorf("the port before it is still held: %v", err)
	} else {
		_ = again.Close()
	}
}

// twoPorts finds two free ports, the second after the first.
func twoPorts(t *testing.T) (second, first string) {
	t.Helper()
	var lc net.ListenConfig
	for range 100 {
		l, err := lc.Listen(t.Context(), "tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		first = l.Addr().String()
		if second, err = portAfter(first, 1); err == nil {
			var next net.Listener
			if next, err = lc.Listen(t.Context(), "tcp", second); err == nil {
				_ = next.Close()
			}
		}
		_ = l.Close()
		if err == nil {
			return second, first
		}
	}
	t.Fatal("no two ports in a row are free")
	return "", ""
}

// query reads one row as administrator.
func query(t *testing.T, url, sql string, dest ...any) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if err := conn.QueryRow(t.Context(), sql).Scan(dest...); err != nil {
		t.Fatal(err)
	}
}

// A service that is started anew serves on its port again.
func TestRestart_ServesOnItsPort(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	_, port := twoPorts(t)
	s, err := Start(t.Context(), Options{Dir: t.TempDir(), DatabaseURL: pgtest.Empty(t), Logger: slog.New(slog.DiscardHandler), Listen: port, Only: []string{"intake"}})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Stop()
	for range 2 {
		conn, err := new(net.Dialer).DialContext(t.Context(), "tcp", port)
		if err != nil {
			t.Fatal(err)
		}
		_ = conn.Close()
		s.StopService("intake")
		if err := s.Restart(t.Context(), "intake"); err != nil {
			t.Fatal(err)
		}
	}
}

// However a start is broken off, it ends and leaves no notice.
func TestStart_BrokenOff(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	ctx, stop := context.WithCancel(t.Context())
	stop()
	dir := t.TempDir()
	if s, err := Start(ctx, Options{Dir: dir, DatabaseURL: pgtest.Empty(t), Logger: slog.New(slog.DiscardHandler)}); err == nil {
		s.Stop()
		t.Error("Start = nil although it was broken off")
	}
	for _, name := range []string{noticeFile, madeFile} {
		if _, err := os.Stat(filepath.Join(dir, name)); !os.IsNotExist(err) {
			t.Errorf("%s: %v, want none", name, err)
		}
	}
}

func perm(t *testing.T, file string) fs.FileMode {
	t.Helper()
	info, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	return info.Mode().Perm()
}
