//go:build unix

package localpg

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// barren is a machine that offers nothing, and the folder of its PATH.
func barren(t *testing.T) (ladder, string) {
	t.Helper()
	bin := t.TempDir()
	t.Setenv("PATH", bin)
	t.Setenv("DOCKER_HOST", "")
	return ladder{system: system{goos: "linux", ids: []string{"debian"}, root: true}}, bin
}

func TestResolve_NamesAllWays(t *testing.T) {
	l, _ := barren(t)
	_, err := l.resolve(t.Context(), Ways{Options: Options{Dir: shopDir(t)}})
	wantText(t, err, "DATABASE_URL", "Postgres >= 14", "apt-get install", "start Docker", "--install-postgres",
		"no docker command in PATH", "PATH, pg_config")
	if !errors.Is(err, ErrNotFound) {
		t.Errorf("resolve() = %v, want ErrNotFound", err)
	}
}

func TestResolve_NamesTheVersionOfTheData(t *testing.T) {
	l, bin := barren(t)
	dir := shopDir(t)
	must(t, os.MkdirAll(filepath.Join(dir, "data"), 0o700))
	must(t, os.WriteFile(filepath.Join(dir, "data", "PG_VERSION"), []byte("16\n"), 0o600))
	script(t, filepath.Join(bin, "docker"), "exit 0") // would do, but not for this data
	_, err := l.resolve(t.Context(), Ways{Options: Options{Dir: dir}})
	wantText(t, err, "install Postgres 16, which made the data", "made without it")
}

func TestResolve_UsesWhatIsInstalled(t *testing.T) {
	dir := madeDir(t)
	bin, err := Find(t.Context(), "", 0)
	must(t, err)
	l, _ := barren(t)
	l.finder.globs = []string{bin.Dir}
	s, err := l.resolve(t.Context(), Ways{Options: Options{Dir: dir, Throwaway: true}})
	if err != nil {
		t.Fatalf("resolve() = %v", err)
	}
	defer stopShop(t, s)
	if s.Version() != bin.Version {
		t.Errorf("Version() = %s, want %s", s.Version(), bin.Version)
	}
}

func TestResolve_DoesNotReplaceAnExplicitFolder(t *testing.T) {
	l, bin := barren(t)
	script(t, filepath.Join(bin, "docker"), "exit 0")
	_, err := l.resolve(t.Context(), Ways{Options: Options{Dir: shopDir(t), BinDir: bin}, Install: true})
	wantText(t, err, bin+" has no postgres")
}

func TestResolve_Installs(t *testing.T) {
	dir := madeDir(t)
	found, err := Find(t.Context(), "", 0)
	must(t, err)
	l, bin := barren(t)
	installed := filepath.Join(filepath.Dir(dir), "installed")
	l.finder.globs = []string{installed}
	l.system.ids = []string{"alpine"}
	script(t, filepath.Join(bin, "apk"), "/bin/ln -s "+found.Dir+" "+installed)
	var said []string
	o := Options{Dir: dir, Throwaway: true, Progress: func(line string) { said = append(said, line) }}

	s, err := l.resolve(t.Context(), Ways{Options: o, Install: true})
	if err != nil {
		t.Fatalf("resolve() = %v", err)
	}
	defer stopShop(t, s)
	if text := strings.Join(said, "\n"); !strings.Contains(text, "running: apk add --no-cache postgresql") {
		t.Errorf("Progress said %q", text)
	}
}
