package suite

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
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

// tell writes the notice into the shop's folder and among those of this user.
func tell(dir string, addresses map[string]string) (*notice, error) {
	b, err := json.MarshalIndent(Notice{PID: os.Getpid(), Dir: dir, Addresses: addresses}, "", "  ")
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(noticeDir(), 0o700); err != nil {
		return nil, fmt.Errorf("notice of the running shop: %w", err)
	}
	n := &notice{files: []string{filepath.Join(dir, noticeFile), filepath.Join(noticeDir(), strconv.Itoa(os.Getpid())+".json")}}
	for _, f := range n.files {
		if err := os.WriteFile(f, b, 0o600); err != nil {
			return n, fmt.Errorf("notice of the running shop: %w", err)
		}
	}
	return n, nil
}

func (n *notice) withdraw() {
	if n == nil {
		return
	}
	for _, f := range n.files {
		_ = os.Remove(f)
	}
}

func noticeDir() string {
	return filepath.Join(os.TempDir(), "tackfree-"+strconv.Itoa(os.Getuid()))
}

// Find finds a running shop: the one of a folder, or with no folder the only one that this
// user runs.
func Find(dir string) (Notice, error) {
	if dir != "" {
		n, err := read(filepath.Join(dir, noticeFile))
		if err != nil || !alive(n.PID) {
			return n, fmt.Errorf("no shop is running in %s; start one with: shop up --data %s", dir, dir)
		}
		return n, nil
	}
	files, err := filepath.Glob(filepath.Join(noticeDir(), "*.json"))
	if err != nil {
		return Notice{}, err
	}
	var running []Notice
	var dirs []string
	for _, f := range files {
		if n, err := read(f); err == nil && alive(n.PID) {
			running = append(running, n)
			dirs = append(dirs, n.Dir)
		}
	}
	switch len(running) {
	case 0:
		return Notice{}, fmt.Errorf("no shop is running here; start one with: shop up --data DIR")
	case 1:
		return running[0], nil
	}
	return Notice{}, fmt.Errorf("several shops are running; say which with --shop DIR: %s", strings.Join(dirs, ", "))
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
