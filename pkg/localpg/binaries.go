package localpg

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// Binaries is an installed Postgres.
type Binaries struct {
	Dir     string // folder of postgres and initdb
	Version string // such as "15.18"
	Major   int    // such as 15
}

func (b Binaries) fits(major int) bool {
	if major == 0 {
		return b.Major >= oldestMajor
	}
	return b.Major == major
}

// newer orders by version: 9.6 < 15.9 < 15.18 < 17beta1 < 17.0.
func newer(a, b Binaries) int {
	return cmp.Or(cmp.Compare(a.Major, b.Major), cmp.Compare(minor(a.Version), minor(b.Version)))
}

func minor(version string) int {
	_, after, released := strings.Cut(version, ".")
	n, err := strconv.Atoi(after)
	if !released || err != nil {
		return -1
	}
	return n
}

var versionLine = regexp.MustCompile(`^postgres \(PostgreSQL\) ((\d+)\S*)`)

// inspect asks a folder's postgres for its version.
func inspect(ctx context.Context, dir string) (Binaries, error) {
	for _, name := range []string{"postgres", "initdb"} {
		if !isProgram(filepath.Join(dir, name)) {
			return Binaries{}, fmt.Errorf("%s has no %s", dir, name)
		}
	}
	out, err := ask(ctx, filepath.Join(dir, "postgres"), "--version")
	if err != nil {
		return Binaries{}, fmt.Errorf("postgres in %s does not run: %w", dir, err)
	}
	match := versionLine.FindStringSubmatch(out)
	if match == nil {
		return Binaries{}, fmt.Errorf("postgres in %s does not tell its version but %q", dir, strings.TrimSpace(out))
	}
	major, err := strconv.Atoi(match[2])
	if err != nil {
		return Binaries{}, fmt.Errorf("postgres in %s tells a strange version: %w", dir, err)
	}
	return Binaries{Dir: dir, Version: match[1], Major: major}, nil
}

// ask runs a program that prints one line; it must not hang the start.
func ask(ctx context.Context, program, option string) (string, error) {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	cmd := exec.CommandContext(ctx, program, option)
	cmd.Dir, cmd.Env = "/", cleanEnv(filepath.Dir(program))
	cmd.WaitDelay = time.Second // a child of it may hold the pipe
	out, err := cmd.Output()
	return string(out), err
}

func isProgram(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular() && info.Mode()&0o111 != 0
}
