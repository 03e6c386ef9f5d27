//go:build unix

package localpg

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"syscall"
)

// noFollow makes opening a file fail if its name is a symlink.
const noFollow = syscall.O_NOFOLLOW

// acquireLock makes this process the owner of the cluster until the file is
// closed, also by a crash. A second owner is refused at once.
func acquireLock(path string, a account) (*os.File, error) {
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|noFollow, 0o600)
	if err != nil {
		return nil, fmt.Errorf("opening the lock of the private Postgres: %w", err)
	}
	if err := lockFile(file); err != nil {
		_ = file.Close()
		return nil, err
	}
	if err := errors.Join(a.own(path), writePID(file)); err != nil {
		_ = file.Close()
		return nil, fmt.Errorf("writing the lock of the private Postgres: %w", err)
	}
	return file, nil
}

func lockFile(file *os.File) error {
	err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return fmt.Errorf("the private Postgres is in use by process %s, which holds %s; stop that one first or use another folder", holder(file), file.Name())
	}
	if err != nil {
		return fmt.Errorf("locking %s: %w", file.Name(), err)
	}
	return nil
}

// holder reads the pid that the owner wrote. The owner may be between taking
// the lock and writing, so that an empty or a former pid is possible.
func holder(file *os.File) string {
	text := make([]byte, 20)
	n, _ := file.ReadAt(text, 0)
	if pid := strings.TrimSpace(string(text[:n])); pid != "" {
		return pid
	}
	return "(pid not yet written)"
}

func writePID(file *os.File) error {
	if err := file.Truncate(0); err != nil {
		return err
	}
	_, err := file.WriteAt(fmt.Appendf(nil, "%d\n", os.Getpid()), 0)
	return err
}
