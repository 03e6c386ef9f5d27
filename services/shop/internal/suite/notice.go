package suite

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"tackfree/pkg/fault"
)

// Notice tells other programs of this machine where a running shop can be reached.
type Notice struct {
	PID       int               `json:"pid"`
	Dir       string            `json:"dir"`
	Addresses map[string]string `json:"addresses"`
}

// noticeFile is in the shop's own folder.
const noticeFile = "running.json"

type notice struct{ files []string }

// tell writes the notice into the shop's folder, and among those of this user where they
// have a folder of their own for them.
func tell(dir string, addresses map[string]string) (*notice, error) {
	b, err := json.MarshalIndent(Notice{PID: os.Getpid(), Dir: dir, Addresses: addresses}, "", "  ")
	if err != nil {
		return nil, err
	}
	n := &notice{files: []string{filepath.Join(dir, noticeFile)}}
	if board, err := noticeDir(); err == nil && os.MkdirAll(board, 0o700) == nil && trusted(board) {
		n.files = append(n.files, filepath.Join(board, nameOf(dir)))
	}
	for _, f := range n.files {
		if err := write(f, b); err != nil {
			return n, fmt.Errorf("notice of the running shop: %w", err)
		}
	}
	return n, nil
}

// nameOf names the notice of the shop in a folder.
func nameOf(dir string) string {
	sum := sha256.Sum256([]byte(dir))
	return hex.EncodeToString(sum[:8]) + ".json"
}

func (n *notice) withdraw() {
	if n == nil {
		return
	}
	for _, f := range n.files {
		_ = os.Remove(f)
	}
}

// noticeDir is this user's folder of notices; a user without a home has none.
func noticeDir() (string, error) {
	cache, err := os.UserCacheDir()
	return filepath.Join(cache, "tackfree", "running"), err
}

// trusted reports whether nobody else can have put something into the folder of notices:
// it is this user's and writable by them alone, and so is the folder that it is in.
func trusted(dir string) bool {
	for _, d := range []string{filepath.Dir(dir), dir} {
		info, err := os.Lstat(d)
		if err != nil || !info.IsDir() || info.Mode().Perm()&0o022 != 0 || !owned(info) {
			return false
		}
	}
	return true
}

// Find finds a running shop: the one of a folder, or with no folder the only one that this
// user runs.
func Find(dir string) (Notice, error) {
	if dir != "" {
		n, err := read(filepath.Join(dir, noticeFile))
		if err != nil || !alive(n.PID) {
			return n, fault.New(fault.Unavailable, "NO_SHOP_RUNNING", "no shop is running in %s; start one with: shop up --data %s", dir, dir)
		}
		return n, nil
	}
	running, err := runningHere()
	if err != nil {
		return Notice{}, err
	}
	switch len(running) {
	case 0:
		return Notice{}, fault.New(fault.Unavailable, "NO_SHOP_RUNNING", "no shop is running here; start one with: shop up --data DIR")
	case 1:
		return running[0], nil
	}
	var dirs []string
	for _, n := range running {
		dirs = append(dirs, n.Dir)
	}
	return Notice{}, fmt.Errorf("several shops are running; say which with --shop DIR: %s", strings.Join(dirs, ", "))
}

// runningHere reads the notices of the shops that this user runs.
func runningHere() (running []Notice, err error) {
	board, err := noticeDir()
	if err != nil {
		return nil, fmt.Errorf("say which shop with --shop DIR: running ones are not noted, for this user has no folder for it (%w)", err)
	}
	if _, err := os.Lstat(board); err != nil {
		return nil, nil
	}
	if !trusted(board) {
		return nil, fmt.Errorf("say which shop with --shop DIR: the notices in %s could be another user's, so they are not read", board)
	}
	files, err := filepath.Glob(filepath.Join(board, "*.json"))
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		if n, err := read(f); err == nil && alive(n.PID) {
			running = append(running, n)
		}
	}
	return running, nil
}

func read(file string) (n Notice, err error) {
	b, err := os.ReadFile(file)
	if err != nil {
		return n, err
	}
	return n, json.Unmarshal(b, &n)
}

// alive reports whether a process of that id runs.
func alive(pid int) bool {
	p, err := os.FindProcess(pid)
	return err == nil && p.Signal(syscall.Signal(0)) == nil
}
