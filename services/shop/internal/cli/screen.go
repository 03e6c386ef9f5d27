package cli

import (
	"context"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"golang.org/x/term"
)

// screen is a terminal that is painted whole, in place, on its other page; leaving gives back what was on it.
type screen struct {
	out    *os.File
	in     *os.File    // nil: no keys are read
	before *term.State // of in
}

// What a terminal is told, as ECMA-48 and xterm have it.
const (
	otherPage  = "\x1b[?1049h\x1b[?25l" // and no cursor
	firstPage  = "\x1b[?25h\x1b[?1049l"
	home       = "\x1b[H"
	clearLine  = "\x1b[K"
	clearBelow = "\x1b[J"
)

// takeScreen takes the terminal; keys are read from in where it is one too.
func takeScreen(out, in *os.File) (*screen, error) {
	s := &screen{out: out}
	if onTerminal(in) {
		before, err := term.MakeRaw(int(in.Fd()))
		if err != nil {
			return nil, err
		}
		s.in, s.before = in, before
	}
	_, err := io.WriteString(out, otherPage)
	return s, err
}

// leave gives the terminal back.
func (s *screen) leave() {
	_, _ = io.WriteString(s.out, firstPage)
	if s.before != nil {
		_ = term.Restore(int(s.in.Fd()), s.before)
	}
}

// size is how many places and lines there are; of a terminal that does not say so 80 by 24.
func (s *screen) size() (width, height int) {
	width, height, err := term.GetSize(int(s.out.Fd()))
	if err != nil || width < 1 || height < 1 {
		return 80, 24
	}
	return width, height
}

// paint puts lines on the screen, in one piece so that nothing flickers.
func (s *screen) paint(lines []string) error {
	_, err := io.WriteString(s.out, home+strings.Join(lines, clearLine+"\r\n")+clearLine+clearBelow)
	return err
}

// resized tells when the terminal has another size, until ctx ends.
func (s *screen) resized(ctx context.Context) <-chan os.Signal {
	told := make(chan os.Signal, 1)
	signal.Notify(told, syscall.SIGWINCH)
	context.AfterFunc(ctx, func() { signal.Stop(told) })
	return told
}

// untilLeft calls leave when somebody types q or Ctrl-C. It reads until there is nothing more to read, also after
// the screen was left: a read of a terminal cannot be called off.
func (s *screen) untilLeft(leave func()) {
	if s.in == nil {
		return
	}
	go func() {
		var keys [16]byte
		for {
			n, err := s.in.Read(keys[:])
			if strings.ContainsAny(string(keys[:n]), "qQ\x03") || err != nil {
				leave()
				return
			}
		}
	}()
}
