package cli

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
)

// shownOn is what a terminal gets while fn runs with it as standard error.
func shownOn(t *testing.T, until string, fn func(e *env, seen func() string)) string {
	t.Helper()
	ours, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	s := &seat{t: t, tty: ours}
	read := make(chan struct{})
	go func() {
		defer close(read)
		s.read()
	}()
	e := &env{ctx: t.Context(), out: tty, errs: tty}
	fn(e, s.all)
	e.shown.end()
	_ = tty.Close()
	_ = ours.Close()
	<-read
	if !strings.Contains(s.all(), until) {
		t.Errorf("the terminal gets %q, without %q", s.all(), until)
	}
	return s.all()
}

// waitFor polls until it is so.
func waitFor(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); !is(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("it never comes: %s", what)
		}
	}
}

func TestProgress_OnATerminal(t *testing.T) {
	t.Parallel()
	all := shownOn(t, "playing", func(e *env, seen func() string) {
		p := e.progress("playing", 4, false)
		p.at(2)
		waitFor(t, "50%", func() bool { return strings.Contains(seen(), "50%") })
		p.aside(func() { fmt.Fprintln(e.out, "   2/4  a line") })
		waitFor(t, "the line", func() bool { return strings.Contains(seen(), "a line") })
	})
	if _, line, _ := strings.Cut(all, "50%"); !strings.Contains(line, "\r   2/4  a line") {
		t.Errorf("the line does not begin where the bar was taken away: %q", line)
	}
}

func TestWaiting_OnATerminal(t *testing.T) {
	t.Parallel()
	shownOn(t, "recomputing", func(e *env, seen func() string) {
		e.waiting("recomputing", false)
		waitFor(t, "a second turn", func() bool { return strings.Count(seen(), "recomputing") > 1 })
	})
}

// Where nobody looks, or somebody wants quiet, there is none.
func TestProgress_IsQuiet(t *testing.T) {
	t.Parallel()
	var errs bytes.Buffer
	e := &env{ctx: t.Context(), errs: &errs}
	for _, p := range []*progress{e.progress("x", 3, false), e.waiting("x", false)} {
		p.at(1)
		p.end()
		if p != nil || errs.Len() > 0 {
			t.Errorf("what is no terminal gets %q", errs.String())
		}
	}
	_, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer tty.Close()
	e.errs = tty
	if e.progress("x", 3, true) != nil || e.waiting("x", true) != nil {
		t.Error("whoever wants quiet is shown progress")
	}
}
