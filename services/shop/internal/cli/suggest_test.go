package cli

import (
	"context"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tackfree/services/shop/internal/client"
)

// near makes the fake the shop that commands find by themselves.
func (f *fake) near(t *testing.T) {
	t.Helper()
	for _, name := range client.Names {
		t.Setenv("TACKFREE_"+strings.ToUpper(name)+"_ADDR", "unix:"+f.address)
	}
	t.Setenv("TACKFREE_SHOP", "")
}

// suggests are the words that a line could go on with.
func suggests(t *testing.T, words ...string) (all []string) {
	t.Helper()
	code, out, errs := run(t, append([]string{"complete", "--"}, words...)...)
	if code != 0 || errs != "" {
		t.Errorf("shop complete -- %q exits %d: %s", words, code, errs)
	}
	for _, l := range strings.Split(strings.TrimSuffix(out, "\n"), "\n") {
		word, _, _ := strings.Cut(l, "\t")
		all = append(all, word)
	}
	return all
}

func TestComplete(t *testing.T) {
	f := withTwo(t)
	buying(f)
	f.near(t)
	for text, want := range map[string]string{
		"st|":                               "station stage stock storage",
		"clock o|":                          "on off",
		"cost rule |":                       "set list",
		"--log|":                            "--log-level",
		"stock list --cs|":                  "--csv",
		"dry felt 1 x tack|":                "tack-free",
		"dry felt --json 1 x tack|":         "tack-free",
		"board --color |":                   "auto always never",
		"board --color=a|":                  "--color=auto --color=always",
		"board --state in|":                 "in-work",
		"board --as N|":                     "Nell",
		"clock on |":                        "Nell Ruth",
		"clock on ne|":                      "Nell",
		"clock on Nell |":                   "1",
		"piece show |":                      "1",
		"clock on Nell 1 sand|":             "sand (case)|sand (drawers)",
		"stage finish 1 h|":                 "hardware-off",
		"person show R|":                    "Ruth",
		"stage hand-over 1 hardware-off N|": "Nell",
		"completion z|":                     "zsh",
		"complet|":                          "completion",
		"clock on -- R|":                    "Ruth",
		"nonsense more |":                   "",
		"board --who Nell --kind |":         "",
		"prospect advise --size |":          "small medium large",
		"prospect advise --look tw|":        "two-tone",
		"prospect advise --species wal|":    "walnut",
		"prospect advise --old-finish unk|": "unknown",
		"prospect list --state |":           "bought declined open",
		"prospect buy |":                    "7",
	} {
		words := line(strings.TrimSuffix(text, "|"))
		if strings.HasSuffix(text, " |") {
			words = append(words, "")
		}
		sep := " "
		if strings.Contains(want, "(") {
			sep = "|"
		}
		if got := strings.Join(suggests(t, words...), sep); got != want {
			t.Errorf("%s goes on with %q, want %q", text, got, want)
		}
	}
}

// Without a shop, or with one that does not answer, nothing is said, and soon.
func TestComplete_WithoutAShop(t *testing.T) {
	silent := filepath.Join(t.TempDir(), "s")
	l, err := new(net.ListenConfig).Listen(context.Background(), "unix", silent)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for _, address := range []string{"unix:" + filepath.Join(t.TempDir(), "none"), "unix:" + silent} {
		for _, name := range client.Names {
			t.Setenv("TACKFREE_"+strings.ToUpper(name)+"_ADDR", address)
		}
		began := time.Now()
		if got := suggests(t, "piece", "show", ""); len(got) != 1 || got[0] != "" {
			t.Errorf("where nobody answers at %s it suggests %q", address, got)
		}
		if took := time.Since(began); took > 5*longestSearch {
			t.Errorf("where nobody answers at %s it takes %v", address, took)
		}
	}
}

func TestSplitLine(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"shop clock on ":               "clock|on|",
		"shop clock  on Ne":            "clock|on|Ne",
		`shop clock on 'Nell O' 1 "sa`: `clock|on|Nell O|1|sa"`,
		`shop x sand\ \(to`:            "x|sand (to",
		`shop x 'a\b`:                  `x|a\b'`,
		`shop x "a\"b`:                 `x|a"b"`,
		"shop ":                        "",
	} {
		words, open := splitLine(text)
		got := strings.Join(words, "|")
		if open != 0 {
			got += string(open)
		}
		if got != want {
			t.Errorf("splitLine(%q) = %q, want %q", text, got, want)
		}
	}
}

// The script for bash puts words on the line that are one word each.
func TestCompletion_Bash(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Fatalf("there is no bash to try the script with: %v", err)
	}
	f := withTwo(t)
	f.near(t)
	bin := t.TempDir()
	if err := os.WriteFile(filepath.Join(bin, "shop"), []byte("#!/bin/sh\n"+asShop+"=1 exec "+quoted(os.Args[0])+" \"$@\"\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	const script = `set -u
source <(shop completion bash)
try() { COMP_LINE=$1 COMP_POINT=${#1} COMP_WORDS=(shop) COMP_CWORD=0; _shop; (IFS='|'; printf '%s\n' "${COMPREPLY[*]}"); }
complete -p shop
try 'shop clock o'
try 'shop clock on Nell 1 sand'
try "shop clock on Nell 1 'sand (c"
try 'shop clock on Nell 1 sand\ \(c'
try 'shop board --color=al'
`
	c := exec.Command(bash, "--norc", "-c", script)
	c.Env = append(os.Environ(), "PATH="+bin+":"+os.Getenv("PATH"))
	out, err := c.CombinedOutput()
	want := "complete -o default -F _shop shop\non|off\nsand\\ \\(case\\)|sand\\ \\(drawers\\)\nsand (case)\nsand\\ \\(case\\)\nalways\n"
	if err != nil || string(out) != want {
		t.Errorf("bash, %v:\n%swant\n%s", err, out, want)
	}
}

// Each script asks `shop complete`, which is not shown.
func TestCompletion_Scripts(t *testing.T) {
	t.Parallel()
	for _, shell := range []string{"bash", "zsh", "fish"} {
		if code, out, _ := run(t, "completion", shell); code != 0 || !strings.Contains(out, " complete ") || !strings.Contains(out, shell) {
			t.Errorf("shop completion %s exits %d and prints\n%s", shell, code, out)
		}
	}
	if code, _, errs := run(t, "completion", "csh"); code != 2 || !strings.Contains(errs, `must be one of "bash","zsh","fish"`) {
		t.Errorf("shop completion csh exits %d: %s", code, errs)
	}
}
