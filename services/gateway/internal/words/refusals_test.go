package words

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// refusalsOf reads out of the document of the edge, which says what the contracts' comments say, by what
// reasons each call is refused.
func refusalsOf(t *testing.T) map[string][]string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "edge", "openapi.json"))
	if err != nil {
		t.Fatal(err)
	}
	var document struct {
		Paths map[string]map[string]struct {
			OperationID, Description string
		}
	}
	if err := json.Unmarshal(b, &document); err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, verbs := range document.Paths {
		for _, call := range verbs {
			if _, refused, says := strings.Cut(call.Description, "Refused"); says {
				out[call.OperationID[strings.LastIndexAny(call.OperationID, "._")+1:]] = reason.FindAllString(refused, -1)
			}
		}
	}
	return out
}

var (
	reason = regexp.MustCompile(`\b[A-Z]{2,}(?:_[A-Z0-9]+)+\b`)
	called = regexp.MustCompile(`\.([A-Z]\w+)\(`)
)

// callsOfPages are the names of what pages call, and of much else that is called.
func callsOfPages(t *testing.T) map[string]bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "pages", "*", "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range called.FindAllStringSubmatch(string(b), -1) {
			out[m[1]] = true
		}
	}
	return out
}

// Whatever the services refuse a page, they say so in English; each other language has a sentence for
// every reason that the contract of a call names which some page makes.
func TestCatalogue_SaysRefusals(t *testing.T) {
	calls, seen := callsOfPages(t), map[string]bool{}
	for call, reasons := range refusalsOf(t) {
		if !calls[call] {
			continue
		}
		for _, r := range reasons {
			for _, language := range Languages[1:] {
				if !seen[language+r] && texts[language]["fault."+r] == "" {
					t.Errorf("%s is refused with %s, which %s does not say", call, r, language)
				}
				seen[language+r] = true
			}
		}
	}
	if len(seen) < 150 {
		t.Errorf("only %d reasons were found", len(seen))
	}
}

// A sentence about a refusal stands alone: it says no figure, for which nobody has a value there.
func TestCatalogue_RefusalsAreWhole(t *testing.T) {
	for _, language := range Languages[1:] {
		for key, text := range texts[language] {
			if strings.HasPrefix(key, "fault.") && (strings.Contains(text, "%") || !strings.ContainsAny(text[len(text)-1:], ".?")) {
				t.Errorf("%s: %s is no whole sentence: %q", language, key, text)
			}
		}
	}
}
