package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"syscall"
	"time"
)

// process is a started child.
type process struct {
	pid   int
	os    *os.Process
	ended chan struct{}
	err   error // of Wait; read it after ended is closed
}

// patience says how long each step of ending a process may take.
type patience struct{ fast, immediate time.Duration }

// defaultPatience lets a checkpoint finish before it forces anything.
var defaultPatience = patience{fast: 15 * time.Second, immediate: 5 * time.Second}

// spawn starts a command on a thread of its own that waits for it. The thread
// matters: the death signal of Linux fires when the thread that forked ends,
// and Go may end the thread of any other goroutine.
func spawn(cmd *exec.Cmd) (*process, error) {
	if cmd.SysProcAttr == nil {
		cmd.SysProcAttr = &syscall.SysProcAttr{}
	}
	dieWithParent(cmd.SysProcAttr)
	p := &process{ended: make(chan struct{})}
	started := make(chan error)
	go func() {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := cmd.Start()
		if err == nil {
			p.pid, p.os = cmd.Process.Pid, cmd.Process
		}
		started <- err
		if err == nil {
			p.err = cmd.Wait()
			close(p.ended)
		}
	}()
	if err := <-started; err != nil {
		return nil, err
	}
	return p, nil
}

// wait returns how the process ended; it is killed when ctx ends first.
func (p *process) wait(ctx context.Context) error {
	select {
	case <-p.ended:
		return p.err
	case <-ctx.Done():
		killGroup(p)
		<-p.ended
		return context.Cause(ctx)
	}
}

// end makes the process stop and returns when it is gone: SIGINT is Postgres'
// fast shutdown, SIGQUIT the immediate one (recovery at the next start).
// SIGTERM is never used: it would wait for all clients to leave. When ctx ends
// meanwhile the fast step is cut short; one that ended before says only that
// the program is on its way out. forced runs after SIGKILL.
func (p *process) end(ctx context.Context, limit patience, forced func()) error {
	if ctx.Err() != nil {
		ctx = context.WithoutCancel(ctx)
	}
	p.signal(syscall.SIGINT)
	if p.gone(ctx, limit.fast) {
		return nil
	}
	p.signal(syscall.SIGQUIT)
	if p.gone(context.WithoutCancel(ctx), limit.immediate) {
		return fmt.Errorf("process %d did not shut down in time and was stopped without saving; its next start takes longer", p.pid)
	}
	p.signal(syscall.SIGKILL)
	forced()
	<-p.ended
	return fmt.Errorf("process %d did not react to any stop signal and was killed; its next start takes longer", p.pid)
}

// gone waits for the end, at most for the limit or until ctx ends.
func (p *process) gone(ctx context.Context, limit time.Duration) bool {
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case <-p.ended:
		return true
	case <-timer.C:
	case <-ctx.Done():
	}
	return false
}

// signal ignores errors: a process that is gone is what every caller wants,
// and ended tells.
func (p *process) signal(s syscall.Signal) { _ = p.os.Signal(s) }

// exitText says in words how the process ended.
func (p *process) exitText() string {
	if p.err == nil {
		return "exit status 0"
	}
	if exit, ok := errors.AsType[*exec.ExitError](p.err); ok {
		return exit.Error()
	}
	return p.err.Error()
}

// cleanEnv keeps locale, time zone and PG* variables of the caller away from
// Postgres. The binaries' own folder comes first: initdb looks for postgres.
func cleanEnv(binDir string) []string {
	return []string{
		"PATH=" + binDir + string(os.PathListSeparator) + "/usr/bin" + string(os.PathListSeparator) + "/bin",
		"LC_ALL=C", "TZ=UTC",
	}
}
