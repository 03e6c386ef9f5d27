package localpg

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// layout names the places of one cluster.
type layout struct {
	root, data, run, log, lock, password string
}

// newLayout makes the paths absolute and free of symlinks, because they are
// compared with what the kernel says about other processes.
func newLayout(dir string) (layout, error) {
	if dir == "" {
		return layout{}, errors.New("local Postgres: Options.Dir is empty; name the folder for its data")
	}
	root, err := filepath.Abs(dir)
	if err != nil {
		return layout{}, fmt.Errorf("local Postgres in %s: %w", dir, err)
	}
	root = realPath(root)
	at := func(name string) string { return filepath.Join(root, name) }
	return layout{
		root: root, data: at("data"), run: at("run"), log: at("log"),
		lock: at("lock"), password: at("password"),
	}, nil
}

// name tells the cluster from others in ps, among containers and in the
// temporary folder. It is short, and the same at every start.
func (l layout) name() string {
	return fmt.Sprintf("tackfree-%x", sha256.Sum256([]byte(l.root)))[:len("tackfree-")+12]
}

// realPath resolves symlinks, also above a folder that does not exist yet.
func realPath(path string) string {
	if resolved, err := filepath.EvalSymlinks(path); err == nil {
		return resolved
	}
	parent := filepath.Dir(path)
	if parent == path {
		return path
	}
	return filepath.Join(realPath(parent), filepath.Base(path))
}

// major returns the version of the existing cluster, or 0 if there is none.
func (l layout) major() (int, error) {
	path := filepath.Join(l.data, "PG_VERSION")
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, l.refuseForeignData()
	}
	if err != nil {
		return 0, fmt.Errorf("reading the version of the existing cluster: %w", err)
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		return 0, fmt.Errorf("%s does not hold a Postgres version: %q", path, text)
	}
	return major, nil
}

// refuseForeignData fails when data exists and is no cluster: initdb's result
// is moved there, and must not replace what a person put there.
func (l layout) refuseForeignData() error {
	entries, err := os.ReadDir(l.data)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(entries) == 0 {
		return nil
	}
	if err != nil {
		return fmt.Errorf("looking at the existing cluster: %w", err)
	}
	return fmt.Errorf("%s holds files but is no Postgres cluster (no PG_VERSION); move it away or use another folder", l.data)
}
