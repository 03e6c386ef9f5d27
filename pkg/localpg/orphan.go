package localpg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// evictPatience is how long an orphan may take; it has no clients worth
// waiting for, but may have a checkpoint to write.
var evictPatience = patience{fast: 10 * time.Second, immediate: 5 * time.Second}

// evict stops what a killed shop left running in the data folder. The caller
// holds the lock, so nobody else wants these processes.
//
// It signals and looks for itself: pg_ctl trusts the pid in postmaster.pid,
// which after a crash may be a zombie or, after a reboot, any other program.
func (c *cluster) evict(ctx context.Context) error {
	running, err := c.at.tenants()
	if err != nil {
		return err
	}
	if len(running) == 0 {
		return forgetPostmaster(c.at.data)
	}
	c.options.Progress("stopping a Postgres that a killed run left behind in " + c.at.root)
	c.options.Log.Warn("stopping an orphaned postgres", "dir", c.at.root, "pids", running)
	postmaster, _ := readPostmaster(c.at.data)
	if slices.Contains(running, postmaster.pid) {
		signalAll([]int{postmaster.pid}, syscall.SIGINT)
	} // else its children notice by themselves that they lost it
	if gone, err := c.at.vacated(ctx, evictPatience.fast); gone || err != nil {
		return err
	}
	running, _ = c.at.tenants()
	signalAll(running, syscall.SIGQUIT)
	if gone, err := c.at.vacated(ctx, evictPatience.immediate); gone || err != nil {
		return err
	}
	return fmt.Errorf("an old Postgres still uses %s and does not stop; end it by hand: kill -9 %s", c.at.data, joinPIDs(running))
}

// vacated polls until no Postgres process uses the data folder.
func (l layout) vacated(ctx context.Context, limit time.Duration) (bool, error) {
	ctx, cancel := context.WithTimeoutCause(ctx, limit, errNotYet)
	defer cancel()
	for {
		running, err := l.tenants()
		if err != nil {
			return false, err
		}
		if len(running) == 0 {
			return true, forgetPostmaster(l.data)
		}
		if err := pause(ctx, 20*time.Millisecond); errors.Is(err, errNotYet) {
			return false, nil
		} else if err != nil {
			return false, fmt.Errorf("waiting for an old Postgres to stop: %w", err)
		}
	}
}

var errNotYet = errors.New("not yet")

// pause returns nil after the time, or why ctx ended before.
func pause(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}

// forgetPostmaster removes the pid file of a postmaster that is known to be
// gone. Postgres would clear it up itself, unless the pid is a zombie or was
// given to another program of the same user: then it would refuse to start.
func forgetPostmaster(data string) error {
	err := os.Remove(filepath.Join(data, "postmaster.pid"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("removing the pid file of a killed Postgres: %w", err)
	}
	return nil
}

func signalAll(pids []int, s syscall.Signal) {
	for _, pid := range pids {
		if p, err := os.FindProcess(pid); err == nil {
			_ = p.Signal(s) // the callers look whether it helped
		}
	}
}

func joinPIDs(pids []int) string {
	var text []string
	for _, pid := range pids {
		text = append(text, strconv.Itoa(pid))
	}
	return strings.Join(text, " ")
}
