package cli

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/creack/pty"
)

var anyColour = regexp.MustCompile("\x1b\\[[0-9;]*m")

// Colours are on a terminal only, unless somebody says otherwise, and take no place in a column.
func TestPaint_Board(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	plain := f.says(t, line("board"))
	if anyColour.MatchString(plain) {
		t.Errorf("what is no terminal gets colours: %q", plain)
	}
	painted := f.says(t, line("board --color always"), "\x1b[32min work\x1b[0m", "\x1b[35maway\x1b[0m", "\x1b[1;31m2026-03-02 12:00:00 CST\x1b[0m")
	if got := anyColour.ReplaceAllString(painted, ""); got != plain {
		t.Errorf("in colours the board is\n%s\nwant\n%s", got, plain)
	}
}

func TestPaint_Alerts(t *testing.T) {
	t.Parallel()
	f := withAll(t)
	f.shelf.alerts[0].DueTime = middayPlus(0)
	f.says(t, line("stock alerts --color always"), "\x1b[1;31m2026-03-02 12:00")
	f.shelf.alerts[0].CloseTime = middayPlus(10)
	if out := f.says(t, line("stock alerts --color always --all")); anyColour.MatchString(out) {
		t.Errorf("what is closed is late: %q", out)
	}
}

func TestColoured(t *testing.T) {
	_, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer tty.Close()
	file, err := os.Create(t.TempDir() + "/out")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	for _, c := range []struct {
		when, noColor, term string
		out                 any
		want                bool
	}{
		{"auto", "", "xterm", tty, true}, {"auto", "1", "xterm", tty, false}, {"auto", "", "dumb", tty, false}, {"auto", "", "xterm", file, false},
		{"auto", "", "xterm", &strings.Builder{}, false}, {"always", "1", "dumb", file, true}, {"never", "", "xterm", tty, false},
	} {
		t.Setenv("NO_COLOR", c.noColor)
		t.Setenv("TERM", c.term)
		w, _ := c.out.(interface{ Write([]byte) (int, error) })
		if got := coloured(c.when, w); got != c.want {
			t.Errorf("coloured(%s) with NO_COLOR=%q, TERM=%s on %T = %t, want %t", c.when, c.noColor, c.term, c.out, got, c.want)
		}
	}
}
