package localpg

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
)

// tenants returns the Postgres processes that work in the data folder.
func (l layout) tenants() ([]int, error) {
	if runtime.GOOS == "linux" {
		return l.tenantsFromProc()
	}
	return l.tenantsFromPS()
}

// tenantsFromProc finds the postmaster and its children by their working
// folder. A zombie has none, so it does not count as running.
func (l layout) tenantsFromProc() ([]int, error) {
	links, err := filepath.Glob("/proc/[0-9]*/cwd")
	if err != nil {
		return nil, fmt.Errorf("looking for an old Postgres: %w", err)
	}
	var pids []int
	for _, link := range links {
		if cwd, err := os.Readlink(link); err != nil || cwd != l.data {
			continue
		}
		dir := filepath.Dir(link)
		name, _ := os.ReadFile(filepath.Join(dir, "comm"))
		if pid, err := strconv.Atoi(filepath.Base(dir)); err == nil && strings.Contains(string(name), "postgres") {
			pids = append(pids, pid)
		}
	}
	return pids, nil
}

// tenantsFromPS finds the postmaster by its arguments and its children by the
// name of the cluster in their titles: "postgres: NAME: checkpointer".
func (l layout) tenantsFromPS() ([]int, error) {
	out, err := exec.Command("ps", "-A", "-ww", "-o", "pid=,args=").Output()
	if err != nil {
		return nil, fmt.Errorf("looking for an old Postgres with ps: %w", err)
	}
	var pids []int
	for line := range strings.Lines(string(out)) {
		number, args, _ := strings.Cut(strings.TrimSpace(line), " ")
		isChild := strings.HasPrefix(strings.TrimSpace(args), "postgres: "+l.name()+":")
		isMaster := strings.Contains(args, "postgres -D "+l.data+" ")
		if pid, err := strconv.Atoi(number); err == nil && (isChild || isMaster) {
			pids = append(pids, pid)
		}
	}
	return pids, nil
}

// postmaster is what postgres says about itself in postmaster.pid.
type postmaster struct {
	pid   int
	ready bool
}

// readPostmaster returns an error while the file is missing or half written.
func readPostmaster(data string) (postmaster, error) {
	text, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if err != nil {
		return postmaster{}, err
	}
	lines := strings.Split(string(text), "\n")
	pid, err := strconv.Atoi(lines[0])
	if err != nil {
		return postmaster{}, err
	}
	// Line 8 is the state, padded with spaces.
	return postmaster{pid: pid, ready: len(lines) >= 8 && strings.TrimSpace(lines[7]) == "ready"}, nil
}
