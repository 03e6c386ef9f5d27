package cli

import (
	"strings"
	"testing"

	"tackfree/pkg/fault"
)

// A script tells by the exit code whether it is done, refused, typed wrong, or to be asked again.
func TestExitCodes(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	exits := func(want int, args ...string) {
		t.Helper()
		if code, _, errs := f.run(t, args...); code != want {
			t.Errorf("shop %s exits %d: %s, want %d", strings.Join(args, " "), code, errs, want)
		}
	}
	exits(0, "piece", "list")
	exits(0, "--help")
	exits(1, "piece", "show", "99")
	exits(2, "piece", "polish")
	exits(2, "board", "--color", "blue")
	f.fails = fault.New(fault.Precondition, "PIECE_SOLD", "It is sold.")
	exits(1, line("clock on Nell 1 hardware-off")...)
	f.fails = fault.New(fault.Unavailable, "DATABASE_UNAVAILABLE", "The database cannot be reached; try again.")
	exits(3, line("clock on Nell 1 hardware-off")...)
	f.fails = nil
	if code, _, errs := run(t, "piece", "list", "--shop", t.TempDir()); code != 3 || !strings.Contains(errs, "NO_SHOP_RUNNING") {
		t.Errorf("where no shop runs it exits %d: %s", code, errs)
	}
	if code, _, errs := run(t, "piece", "list", "--intake-addr", "unix:"+t.TempDir()+"/none"); code != 3 {
		t.Errorf("where nobody answers it exits %d: %s", code, errs)
	}
}

// The help says what they mean.
func TestHelp_SaysExitCodes(t *testing.T) {
	t.Parallel()
	_, out, _ := run(t, "--help")
	for _, want := range []string{"Exit codes:\n", "\n  0  ", "\n  1  ", "\n  2  ", "\n  3  "} {
		if !strings.Contains(out, want) {
			t.Errorf("shop --help does not say %q:\n%s", want, out)
		}
	}
}

// Every command of the first level is in a group, on a line or two.
func TestHelp_GroupsCommands(t *testing.T) {
	t.Parallel()
	_, out, _ := run(t, "--help")
	var names []string
	for name := range leaves(t) {
		first, _, _ := strings.Cut(name, " ")
		names = append(names, first)
	}
	for _, name := range names {
		if name != "complete" && strings.Count(out, "\n  "+name+" ") != 1 {
			t.Errorf("shop --help has %s %d times, want once, in a group", name, strings.Count(out, "\n  "+name+" "))
		}
	}
	for _, text := range strings.Split(out, "\n") {
		if len([]rune(text)) > lineWidth {
			t.Errorf("shop --help has a line of %d characters: %s", len([]rune(text)), text)
		}
	}
	if at := strings.Count(out, "\n"); at > 120 {
		t.Errorf("shop --help has %d lines", at)
	}
}

// The help of a group has one sentence for each of its commands; that of a command has all.
func TestHelp_IsShortInLists(t *testing.T) {
	t.Parallel()
	_, out, _ := run(t, "cost", "--help")
	if !strings.Contains(out, "cost rule") || strings.Contains(out, "cost rule set") || strings.Contains(out, "29 CFR") {
		t.Errorf("shop cost --help:\n%s", out)
	}
	_, out, _ = run(t, "cost", "rule", "set", "--help")
	if !strings.Contains(strings.Join(strings.Fields(out), " "), "29 CFR part 778") {
		t.Errorf("shop cost rule set --help:\n%s", out)
	}
}

func TestFirstSentence(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{"": "", "Give up.": "Give up.", "Open it; then close it. Well.": "Open it.", "Its size is 2.5 L. Or not": "Its size is 2.5 L.", "No stop": "No stop."} {
		if got := firstSentence(text); got != want {
			t.Errorf("firstSentence(%q) = %q, want %q", text, got, want)
		}
	}
}
