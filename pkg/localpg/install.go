package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"time"
)

// system is what decides how software gets onto this machine.
type system struct {
	goos    string   // as runtime.GOOS
	ids     []string // of os-release: ID, then those of ID_LIKE
	version string   // VERSION_ID of os-release, such as "9.4"
	root    bool     // we may install without sudo
}

func thisSystem() system {
	text, err := os.ReadFile("/etc/os-release")
	if err != nil {
		text, _ = os.ReadFile("/usr/lib/os-release")
	}
	s := parseOSRelease(string(text))
	s.goos, s.root = runtime.GOOS, os.Geteuid() == 0
	return s
}

// parseOSRelease reads the shell-like KEY="value" lines of os-release.
func parseOSRelease(text string) system {
	values := map[string]string{}
	for line := range strings.Lines(text) {
		key, value, _ := strings.Cut(strings.TrimSpace(line), "=")
		values[key] = strings.Trim(value, `"'`)
	}
	return system{
		ids:     append(strings.Fields(values["ID"]), strings.Fields(values["ID_LIKE"])...),
		version: values["VERSION_ID"],
	}
}

// install runs the recipe. Every command is told before it runs.
func (s system) install(ctx context.Context, progress func(string)) error {
	r, err := recipeFor(s)
	if err != nil {
		return err
	}
	if _, err := exec.LookPath(r.manager); err != nil {
		return fmt.Errorf("there is no %s in PATH", r.manager)
	}
	prefix, err := s.privilege(ctx, r)
	if err != nil {
		return err
	}
	progress("installing Postgres by this system's package manager:")
	return r.run(ctx, prefix, progress)
}

// run stops at the first failure, but never leaves out what comes after.
func (r recipe) run(ctx context.Context, prefix []string, progress func(string)) (err error) {
	defer func() {
		for _, command := range r.after {
			err = errors.Join(err, runCommand(context.WithoutCancel(ctx), slices.Concat(prefix, command), progress))
		}
	}()
	for _, command := range r.commands() {
		if err := runCommand(ctx, slices.Concat(prefix, command), progress); err != nil {
			return err
		}
	}
	return nil
}

// privilege returns what to put before each command: nothing, or sudo if it
// asks for no password, as there may be no terminal to ask on.
func (s system) privilege(ctx context.Context, r recipe) ([]string, error) {
	switch {
	case r.asUser && s.root:
		return nil, fmt.Errorf("%s refuses to run as root; run as a normal user", r.manager)
	case r.asUser || s.root:
		return nil, nil
	}
	if err := exec.CommandContext(ctx, "sudo", "-n", "true").Run(); err != nil {
		return nil, fmt.Errorf("installing needs root, and sudo is missing or wants a password; run it yourself: sudo %s", strings.Join(r.install, " "))
	}
	return []string{"sudo", "-n"}, nil
}

// runCommand runs a command that may take minutes; its output matters only if
// it fails.
func runCommand(ctx context.Context, args []string, progress func(string)) error {
	progress("running: " + shellText(args))
	cmd := exec.CommandContext(ctx, args[0], args[1:]...)
	cmd.WaitDelay = time.Second
	out, err := cmd.CombinedOutput()
	if err != nil {
		text := strings.TrimSpace(string(out))
		return fmt.Errorf("%s: %w: %s", shellText(args), err, text[max(0, len(text)-500):])
	}
	return nil
}

// shellText renders a command so that it can be pasted into a shell.
func shellText(args []string) string {
	var words []string
	for _, arg := range args {
		if strings.ContainsAny(arg, " '\"$&|<>;*()") {
			arg = "'" + strings.ReplaceAll(arg, "'", `'\''`) + "'"
		}
		words = append(words, arg)
	}
	return strings.Join(words, " ")
}
