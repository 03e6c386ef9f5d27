package e2e_test

import (
	"os"
	"regexp"
	"strings"
	"testing"
)

func readme(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// What the README shows of the demo is what the demo prints.
func TestReadme_ShowsTheDemo(t *testing.T) {
	printed, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	top := strings.Join(strings.SplitAfterN(string(printed), "\n", 7)[:6], "")
	if !strings.Contains(readme(t), top) {
		t.Errorf("README.md does not show the first lines of the demo:\n%s", top)
	}
}

var word = regexp.MustCompile(`"([^"]*)"|\S+`)

// argsOf splits a line as a shell does, as far as the README goes: words, and words in
// double quotes.
func argsOf(line string) (args []string) {
	for _, m := range word.FindAllStringSubmatch(line, -1) {
		if strings.HasPrefix(m[0], `"`) {
			args = append(args, m[1])
			continue
		}
		args = append(args, m[0])
	}
	return args
}

// program is how a shell finds what the README's build line makes.
func program(t *testing.T) string {
	t.Helper()
	m := regexp.MustCompile(`(?m)^go build -o (\S+) ./services/shop$`).FindStringSubmatch(readme(t))
	if m == nil {
		t.Fatal("README.md does not say how to build the program")
	}
	return "./" + m[1] + " "
}

// The day that the README tells can be typed as it stands, into a shop that is empty.
func TestReadme_TheDayCanBeTyped(t *testing.T) {
	day, finishing, floor := block(t, "In another terminal, a day:"), block(t, "In the same shop:"), block(t, "worth most for its time. In the same shop:")
	s, program := open(t, nil), program(t)
	t.Chdir("../../..")
	typed := func(lines string) (last string) {
		for line := range strings.Lines(lines) {
			args, ours := strings.CutPrefix(line, program)
			if !ours {
				t.Errorf("%q does not begin with %q", line, program)
			}
			last = shop(t, s.Dir(), argsOf(args)...)
		}
		return last
	}
	if last := typed(day); !strings.Contains(last, "0 differences") {
		t.Errorf("the day ends with:\n%s", last)
	}
	if last := typed(finishing); !strings.Contains(last, "block-stains") || !strings.Contains(last, "approved") {
		t.Errorf("the finish plan ends with:\n%s", last)
	}
	if last := typed(floor); !strings.Contains(last, "Tom") || !strings.Contains(last, "0:00") {
		t.Errorf("the floor's day ends with:\n%s", last)
	}
}

// block is what the README has to be typed after some words.
func block(t *testing.T, after string) string {
	t.Helper()
	_, lines, found := strings.Cut(readme(t), after+"\n\n```\n")
	lines, _, ended := strings.Cut(lines, "```")
	if !found || !ended {
		t.Fatalf("README.md has nothing to be typed after %q", after)
	}
	return lines
}
