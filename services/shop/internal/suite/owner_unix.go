//go:build unix

package suite

import (
	"io/fs"
	"os"
	"syscall"
)

// owned reports whether a file is this user's.
func owned(info fs.FileInfo) bool {
	s, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(s.Uid) == os.Geteuid()
}
