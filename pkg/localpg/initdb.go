package localpg

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// create makes the cluster if there is none yet. initdb works in a folder of
// another name that is renamed at the end, so that a killed initdb never leaves
// half a cluster that looks like a whole one.
func (c *cluster) create(ctx context.Context) error {
	if err := c.sweepUnfinished(ctx); err != nil {
		return err
	}
	if c.existing != 0 {
		return nil
	}
	c.options.Progress(fmt.Sprintf("creating a private Postgres %s in %s (once, takes a few seconds)", c.bin.Version, c.at.root))
	fresh, err := os.MkdirTemp(c.at.root, "data.new-")
	if err != nil {
		return fmt.Errorf("creating the data folder: %w", err)
	}
	if err := c.initdb(ctx, fresh); err != nil {
		_ = os.RemoveAll(fresh) // else the next start sweeps it up
		return err
	}
	return c.publish(fresh)
}

// sweepUnfinished removes what an initdb of a killed shop left behind. The
// initdb may still be dying and write into it, hence the patience.
func (c *cluster) sweepUnfinished(ctx context.Context) error {
	ctx, cancel := context.WithTimeoutCause(ctx, 5*time.Second, errNotYet)
	defer cancel()
	for {
		err := removeMatching(filepath.Join(c.at.root, "data.new-*"))
		if err == nil {
			return nil
		}
		if pause(ctx, 50*time.Millisecond) != nil {
			return fmt.Errorf("removing an unfinished cluster: %w", err)
		}
	}
}

func removeMatching(pattern string) error {
	paths, err := filepath.Glob(pattern)
	for _, path := range paths {
		err = errors.Join(err, os.RemoveAll(path))
	}
	return err
}

func (c *cluster) initdb(ctx context.Context, dir string) error {
	if err := c.account.own(dir); err != nil {
		return err
	}
	cmd := c.command("initdb", initdbArgs(dir, c.at.password, c.bin.Major, c.options.Throwaway)...)
	p, err := spawn(cmd)
	if err != nil {
		return fmt.Errorf("running initdb: %w", err)
	}
	if err := p.wait(ctx); err != nil {
		return fmt.Errorf("initdb of the private Postgres failed (%w); it says: %s", err, c.log.reason())
	}
	return nil
}

// initdbArgs asks for a cluster that is the same on every machine: C locale,
// UTF-8, passwords also on the socket.
func initdbArgs(dir, passwordFile string, major int, throwaway bool) []string {
	args := []string{
		"-D", dir, "-U", superuser, "--pwfile", passwordFile,
		"--auth-local=scram-sha-256", "--auth-host=scram-sha-256",
		"--locale=C", "-E", "UTF8", "--no-instructions",
	}
	switch {
	case !throwaway:
		return append(args, "--data-checksums")
	case major >= 18: // checksums became the default
		return append(args, "--no-sync", "--no-data-checksums")
	default:
		return append(args, "--no-sync")
	}
}

// publish gives the finished cluster its name and makes that durable.
func (c *cluster) publish(fresh string) error {
	if err := os.Remove(c.at.data); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("replacing the empty data folder: %w", err)
	}
	if err := os.Rename(fresh, c.at.data); err != nil {
		return fmt.Errorf("naming the new cluster: %w", err)
	}
	if c.options.Throwaway {
		return nil
	}
	return syncFolder(c.at.root)
}

// readPassword returns the superuser's password, and makes one for a cluster
// that is yet to be created.
func readPassword(l layout, a account, existing bool) (string, error) {
	text, err := os.ReadFile(l.password)
	if password := strings.TrimSpace(string(text)); err == nil && password != "" {
		return password, a.own(l.password)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("reading the password of the private Postgres: %w", err)
	}
	if existing {
		return "", fmt.Errorf("the password file %s is missing or empty, but the cluster in %s needs it; put it back, or move the folder away to begin anew", l.password, l.data)
	}
	return newPassword(l, a)
}

// newPassword writes to another name first: a crash must not leave half a
// password beside a cluster that was made with it.
func newPassword(l layout, a account) (string, error) {
	password := rand.Text()
	fresh := l.password + ".new"
	if err := writeDurably(fresh, password+"\n"); err != nil {
		return "", fmt.Errorf("saving the password of the private Postgres: %w", err)
	}
	if err := a.own(fresh); err != nil {
		return "", err
	}
	if err := os.Rename(fresh, l.password); err != nil {
		return "", fmt.Errorf("saving the password of the private Postgres: %w", err)
	}
	return password, nil
}

func writeDurably(path, text string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = file.WriteString(text)
	return errors.Join(err, file.Sync(), file.Close())
}

// syncFolder makes a rename inside a folder survive a power cut.
func syncFolder(path string) error {
	dir, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("syncing the cluster folder: %w", err)
	}
	if err := errors.Join(dir.Sync(), dir.Close()); err != nil {
		return fmt.Errorf("syncing the cluster folder: %w", err)
	}
	return nil
}

// command prepares a program of Postgres: as the account, in a folder that
// everybody may enter, with a clean environment, writing to the log.
func (c *cluster) command(name string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(c.bin.Dir, name), args...)
	cmd.Dir, cmd.Env = "/", cleanEnv(c.bin.Dir)
	cmd.Stdout, cmd.Stderr = c.log.file, c.log.file
	cmd.SysProcAttr = c.account.attributes()
	return cmd
}
