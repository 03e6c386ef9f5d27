package pgtest

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// memory is the folder whose files Linux keeps in memory, and room how many bytes it must
// have left: a test program needs about a fifth of that, and a few run at a time.
const (
	memory = "/dev/shm"
	room   = 2 << 30
	prefix = "tackfree-pgtest-"
)

// inMemory makes a folder there, named after this process. On some file systems most of a
// test's time goes by making and removing the few hundred files of its database.
func inMemory() (string, error) {
	var fs syscall.Statfs_t
	if err := syscall.Statfs(memory, &fs); err != nil {
		return "", err
	}
	if fs.Bavail*uint64(fs.Bsize) < room {
		return "", fmt.Errorf("%s has less than %d bytes left", memory, room)
	}
	sweep()
	return os.MkdirTemp(memory, prefix+strconv.Itoa(os.Getpid())+"-")
}

// sweep removes the folders of killed test programs, which would take up memory until the
// machine is started again.
func sweep() {
	left, err := filepath.Glob(filepath.Join(memory, prefix+"*"))
	if err != nil {
		panic(err) // the pattern is ours
	}
	for _, dir := range left {
		of, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(dir), prefix), "-")
		if pid, err := strconv.Atoi(of); err == nil && errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
			_ = os.RemoveAll(dir)
		}
	}
}
