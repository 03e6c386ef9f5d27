package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// oldestMajor is the oldest Postgres that is used; postmaster.pid and the
// options of initdb are relied on as they are since then.
const oldestMajor = 14

// ErrNotFound says that no fitting Postgres is on this machine. The errors
// that wrap it tell where was looked and what was found instead.
var ErrNotFound = errors.New("no fitting Postgres found")

// Find returns the newest Postgres >= 14, or with a major other than 0 the
// newest of exactly that major version. It looks in binDir alone if that is
// given; else in PATH, the folder that pg_config names, and the folders where
// packages of Debian, Red Hat, SUSE, Alpine, Homebrew, MacPorts, Postgres.app,
// EDB and Nix put it. postgres and initdb must both be there and run.
// The error wraps ErrNotFound.
func Find(ctx context.Context, binDir string, major int) (Binaries, error) {
	return systemFinder().find(ctx, binDir, major)
}

// finder knows where to look.
type finder struct {
	path  string   // list of folders like the PATH variable
	globs []string // patterns of further folders
}

func systemFinder() finder {
	return finder{path: os.Getenv("PATH"), globs: []string{
		"/usr/lib/postgresql/*/bin",
		"/usr/pgsql-*/bin",
		"/usr/lib/postgresql*/bin",
		"/usr/libexec/postgresql*",
		"/opt/homebrew/opt/postgresql@*/bin",
		"/usr/local/opt/postgresql@*/bin",
		"/home/linuxbrew/.linuxbrew/opt/postgresql@*/bin",
		"/opt/local/lib/postgresql*/bin",
		"/Applications/Postgres.app/Contents/Versions/*/bin",
		"/Library/PostgreSQL/*/bin",
		"/opt/PostgreSQL/*/bin",
		filepath.Join(os.Getenv("HOME"), ".nix-profile/bin"),
		"/nix/var/nix/profiles/default/bin",
		"/run/current-system/sw/bin",
	}}
}

func (f finder) find(ctx context.Context, binDir string, major int) (Binaries, error) {
	folders := []string{binDir}
	if binDir == "" {
		folders = f.folders(ctx)
	} else if !filepath.IsAbs(binDir) {
		return Binaries{}, fmt.Errorf("the folder of the Postgres programs must be an absolute path, not %s", binDir)
	}
	var fitting []Binaries
	var others []string
	for _, dir := range folders {
		b, err := inspect(ctx, dir)
		switch {
		case err != nil:
			others = append(others, err.Error())
		case b.fits(major):
			fitting = append(fitting, b)
		default:
			others = append(others, fmt.Sprintf("%s has version %s", b.Dir, b.Version))
		}
	}
	if len(fitting) == 0 {
		return Binaries{}, f.notFound(binDir, major, others)
	}
	return slices.MaxFunc(fitting, newer), nil
}

// folders lists the candidates once each; those from PATH come first, so that
// they win among equal versions.
func (f finder) folders(ctx context.Context) []string {
	var all []string
	for _, dir := range filepath.SplitList(f.path) {
		all = append(all, besidePostgres(dir)...)
	}
	all = append(all, f.fromPgConfig(ctx)...)
	for _, glob := range f.globs {
		matches, _ := filepath.Glob(glob)
		all = append(all, matches...)
	}
	var once []string
	for _, dir := range all {
		if filepath.IsAbs(dir) && isProgram(filepath.Join(dir, "postgres")) && !slices.Contains(once, dir) {
			once = append(once, dir)
		}
	}
	return once
}

// besidePostgres resolves symlinks first: a link to postgres in a folder of
// PATH need not have initdb beside it, and a link to a launcher of versions
// has its initdb only beside the link.
func besidePostgres(dir string) []string {
	if !filepath.IsAbs(dir) {
		return nil
	}
	target, err := filepath.EvalSymlinks(filepath.Join(dir, "postgres"))
	if err != nil {
		return nil
	}
	if home := filepath.Dir(target); isProgram(filepath.Join(home, "initdb")) {
		return []string{home}
	}
	return []string{dir}
}

func (f finder) fromPgConfig(ctx context.Context) []string {
	for _, dir := range filepath.SplitList(f.path) {
		program := filepath.Join(dir, "pg_config")
		if !filepath.IsAbs(dir) || !isProgram(program) {
			continue
		}
		if out, err := ask(ctx, program, "--bindir"); err == nil {
			return []string{strings.TrimSpace(out)}
		}
	}
	return nil
}

func (f finder) notFound(binDir string, major int, others []string) error {
	wanted := fmt.Sprintf("version %d or newer", oldestMajor)
	if major != 0 {
		wanted = fmt.Sprintf("version %d, which the existing data needs,", major)
	}
	where := "PATH, pg_config and " + strings.Join(f.globs, ", ")
	if binDir != "" {
		where = binDir
	}
	text := fmt.Sprintf("%s was looked for in %s", wanted, where)
	if len(others) > 0 {
		text += "; but " + strings.Join(others, "; ")
	}
	return fmt.Errorf("%w: %s", ErrNotFound, text)
}
