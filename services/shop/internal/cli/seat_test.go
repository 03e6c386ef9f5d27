package cli

import (
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"

	"tackfree/services/shop/internal/client"
)

// seat is somebody at a terminal with `shop watch` on it.
type seat struct {
	t    *testing.T
	tty  *os.File
	cmd  *exec.Cmd
	mu   sync.Mutex
	seen strings.Builder
	done chan error
}

// sit starts `shop` with these words on a terminal of its own, of 24 lines.
func (f *fake) sit(t *testing.T, width uint16, words ...string) *seat {
	t.Helper()
	s := &seat{t: t, cmd: exec.Command(os.Args[0], words...), done: make(chan error, 1)}
	s.cmd.Env = append(os.Environ(), asShop+"=1", "TERM=xterm-256color", "NO_COLOR=1", "TACKFREE_ACTOR=Odile")
	for _, name := range client.Names {
		s.cmd.Env = append(s.cmd.Env, "TACKFREE_"+strings.ToUpper(name)+"_ADDR=unix:"+f.address)
	}
	var err error
	if s.tty, err = pty.StartWithSize(s.cmd, &pty.Winsize{Rows: 24, Cols: width}); err != nil {
		t.Fatal(err)
	}
	var reading sync.WaitGroup
	reading.Go(s.read)
	go func() { s.done <- s.cmd.Wait() }()
	t.Cleanup(func() {
		_ = s.cmd.Process.Kill()
		_ = s.tty.Close()
		reading.Wait()
	})
	return s
}

func (s *seat) read() {
	var b [4096]byte
	for {
		n, err := s.tty.Read(b[:])
		s.mu.Lock()
		s.seen.Write(b[:n])
		s.mu.Unlock()
		if err != nil {
			return
		}
	}
}

// all is all that was written.
func (s *seat) all() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.seen.String()
}

// frame is what is on the screen.
func (s *seat) frame() string {
	text := s.all()
	return strings.ReplaceAll(text[strings.LastIndex(text, home)+1:], clearLine, "")
}

// sees waits until the screen is such.
func (s *seat) sees(what string, is func(frame string) bool) {
	s.t.Helper()
	for end := time.Now().Add(10 * time.Second); !is(s.frame()); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			s.t.Fatalf("the screen does not show %s:\n%s", what, s.frame())
		}
	}
}

func (s *seat) shows(text string) {
	s.t.Helper()
	s.sees(text, func(frame string) bool { return strings.Contains(frame, text) })
}

// types types keys.
func (s *seat) types(keys string) {
	s.t.Helper()
	if _, err := s.tty.WriteString(keys); err != nil {
		s.t.Error(err)
	}
}

// left checks that it has ended well and that the terminal was given back.
func (s *seat) left() {
	s.t.Helper()
	select {
	case err := <-s.done:
		if err != nil {
			s.t.Errorf("shop watch ends with %v:\n%s", err, s.all())
		}
	case <-time.After(10 * time.Second):
		s.t.Fatal("shop watch does not end")
	}
	for end := time.Now().Add(2 * time.Second); !strings.HasSuffix(s.all(), firstPage) && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
	}
	if all := s.all(); !strings.HasPrefix(all, otherPage) || !strings.HasSuffix(all, firstPage) || strings.Count(all, otherPage) != 1 {
		s.t.Errorf("the terminal is not given back: %q … %q", all[:min(20, len(all))], all[max(0, len(all)-30):])
	}
}
