package e2e_test

import (
	"bytes"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/cli"
	"tackfree/services/shop/internal/client"
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
	stock := block(t, "stands, when it is too old, and where it went. In the same shop:")
	bought := block(t, "believe such pieces bring; then say what you see. In the same shop:")
	ordered := block(t, "your place and your own rules say; then write the estimate. In the same shop:")
	back := block(t, "at once cost of what was sold. In the same shop, of the dresser that was sold:")
	earned := block(t, "has to carry of rent and power; then ask. In the same shop:")
	s, program := open(t, nil), program(t)
	t.Chdir("../../..")
	said := map[string]string{} // to lines that begin with such words
	typed := func(lines string) (last string) {
		give := shop
		for line := range strings.Lines(lines) {
			if strings.HasPrefix(line, program+"cost ") { // the books follow in a moment
				give = inTime
			}
			if strings.HasPrefix(line, "sleep ") {
				give = inTime
				continue
			}
			args, ours := strings.CutPrefix(line, program)
			if !ours {
				t.Errorf("%q does not begin with %q", line, program)
			}
			last, give = give(t, s.Dir(), argsOf(args)...), shop
			for _, answer := range []string{"prospect advise", "prospect buy"} {
				if strings.HasPrefix(args, answer+" ") {
					said[answer] = last
				}
			}
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
	sharedOut(t, s.Shop)
	if last := typed(stock); !strings.Contains(last, "nothing") {
		t.Errorf("the day of stock ends with:\n%s", last)
	}
	if last := typed(bought); !strings.Contains(last, "90.00") || !strings.Contains(last, "a tenth off") {
		t.Errorf("buying and pricing end with:\n%s", last)
	}
	worthItsPrice(t, said["prospect advise"], said["prospect buy"])
	if last := typed(ordered); !strings.Contains(last, "Commission 1 is cancelled.") || !strings.Contains(last, "427.34 comes back") {
		t.Errorf("the commission ends with:\n%s", last)
	}
	if last := typed(back); !strings.Contains(last, "by source") {
		t.Errorf("what came back ends with:\n%s", last)
	}
	if last := typed(earned); !strings.Contains(last, "0 differences") {
		t.Errorf("the bookkeeping ends with:\n%s", last)
	}
}

// worthItsPrice checks what the README says of its dresser: too dear at what is asked, and bought for no more than it
// is worth.
func worthItsPrice(t *testing.T, advice, bought string) {
	t.Helper()
	m := regexp.MustCompile(`^Only if one of these holds; 90.00 is asked, and it is worth up to ([\d.]+):`).FindStringSubmatch(advice)
	if m == nil || !strings.Contains(advice, "hours") {
		t.Fatalf("the prospect is advised on with:\n%s", advice)
	}
	if most, err := strconv.ParseFloat(m[1], 64); err != nil || most < 50 || !strings.Contains(bought, "is bought for 50.00") {
		t.Errorf("it is worth up to %s, and: %s", m[1], bought)
	}
}

// inTime gives a command, and again as long as too little time has passed for it.
func inTime(t *testing.T, dir string, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	eventually(t, "let: "+strings.Join(args, " "), func() bool {
		out.Reset()
		errs.Reset()
		if cli.Run(t.Context(), append([]string{"--shop", dir, "--as", "Odile"}, args...), &out, &errs) == 0 {
			return true
		}
		if !strings.Contains(errs.String(), "(CLOCK_TOO_SHORT)") && !strings.Contains(errs.String(), "know no such piece (yet)") {
			t.Fatalf("shop %s: %s", strings.Join(args, " "), errs.String())
		}
		return false
	})
	return out.String()
}

// sharedOut checks that of the batch each of its two pieces got half: of the time to the second, of
// the material to the drop and the cent.
func sharedOut(t *testing.T, shop *client.Shop) {
	t.Helper()
	fronts, err := shop.Batch(t.Context(), "Fronts")
	if err != nil {
		t.Fatal(err)
	}
	for _, tag := range []string{"3", "4"} {
		p, err := shop.Piece(t.Context(), tag)
		if err != nil {
			t.Fatal(err)
		}
		listed, err := shop.Clocks.ListClockEntries(t.Context(), &workflowv1.ListClockEntriesRequest{Piece: p.Name})
		if err != nil {
			t.Fatal(err)
		}
		var worked, stretch time.Duration
		for _, e := range listed.ClockEntries {
			if e.Batch == fronts.Name {
				worked += e.EndTime.AsTime().Sub(e.StartTime.AsTime())
				stretch = e.StretchEndTime.AsTime().Sub(e.StretchStartTime.AsTime())
			}
		}
		if worked < time.Second || (2*worked-stretch).Abs() > time.Second {
			t.Errorf("of the batch's %s %s fell to piece %s, want half", stretch, worked, tag)
		}
		issued, err := shop.Materials.ListIssues(t.Context(), &materialsv1.ListIssuesRequest{Piece: p.Name})
		if err != nil || len(issued.Issues) != 1 || issued.Issues[0].Quantity.GetValue() != "0.125" || issued.Issues[0].Cost.GetUnits() != 1 || issued.Issues[0].Cost.GetNanos() != 500_000_000 {
			t.Errorf("to piece %s was issued %v, %v; want 0.125 L of the degreaser for 1.50", tag, issued, err)
		}
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
