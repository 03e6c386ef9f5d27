package faults_test

import (
	"io"
	"os"
	"os/exec"
	"testing"
	"time"
)

// process is this program once more, as somebody else. It ends with the test.
type process struct {
	cmd   *exec.Cmd
	since time.Time
	stdin io.Closer // held open for as long as we live
	ended chan struct{}
}

// spawn starts a process that writes its log to the end of a file.
func spawn(t testing.TB, log string, env []string) *process {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	out, err := os.OpenFile(log, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	p := &process{cmd: exec.Command(self), since: time.Now(), ended: make(chan struct{})}
	p.cmd.Env, p.cmd.Stderr = env, out
	if p.stdin, err = p.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = p.cmd.Wait() // how it ended is said by who ended it
		close(p.ended)
	}()
	t.Cleanup(p.kill)
	return p
}

// kill is kill -9; it returns when the process is gone.
func (p *process) kill() {
	_ = p.cmd.Process.Kill()
	<-p.ended
	_ = p.stdin.Close()
}

// running reports whether it has not ended yet.
func (p *process) running() bool {
	select {
	case <-p.ended:
		return false
	default:
		return true
	}
}
