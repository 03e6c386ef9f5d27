package words

import (
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Every language says everything, with the same verbs.
func TestCatalogue_Complete(t *testing.T) {
	first := texts[Languages[0]]
	if len(first) < 100 {
		t.Fatalf("only %d texts were read", len(first))
	}
	for _, language := range Languages[1:] {
		for key, text := range first {
			other, ok := texts[language][key]
			switch {
			case !ok:
				t.Errorf("%s does not say %q", language, key)
			case !slices.Equal(verbs(text), verbs(other)):
				t.Errorf("%s: %q has verbs %v, and %v in %s", key, text, verbs(text), verbs(other), language)
			case strings.TrimSpace(other) == "":
				t.Errorf("%s says nothing for %q", language, key)
			}
		}
		for key := range texts[language] {
			if _, ok := first[key]; !ok && !regexp.MustCompile(`^(fault|alert|said|field)\.`).MatchString(key) { // services say these in English themselves
				t.Errorf("%s says %q, which nobody asks for", language, key)
			}
		}
	}
}

var verb = regexp.MustCompile(`%(?:\[(\d+)\])?([a-z%])`)

// verbs lists a text's verbs by the argument that each writes.
func verbs(text string) (all []string) {
	next := 1
	for _, m := range verb.FindAllStringSubmatch(text, -1) {
		if m[2] == "%" {
			continue
		}
		if m[1] != "" {
			next = int(m[1][0] - '0')
		}
		all = append(all, string(rune('0'+next))+m[2])
		next++
	}
	slices.Sort(all)
	return all
}

// used finds keys in templates and Go files: those that are written out.
var used = regexp.MustCompile("(?:\\$\\.|\\.Voice\\.|[ (]v\\.)(T|N) \\(?[\"`]([a-z0-9._/-]+)[\"`]|(?:Voice|voice|v)\\.(T|N)\\([\"`]([a-z0-9._/-]+)[\"`]")

// Every key that a page writes out is in the catalogue, and every key is written out or made up from one
// of the beginnings that pages are known to add words to.
func TestCatalogue_Used(t *testing.T) {
	seen := map[string]bool{}
	all := strings.Builder{}
	err := filepath.WalkDir("..", func(name string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !slices.Contains([]string{".go", ".html", ".js"}, filepath.Ext(name)) || strings.HasSuffix(name, "_test.go") {
			return err
		}
		b, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		all.Write(b)
		for _, m := range used.FindAllStringSubmatch(string(b), -1) {
			kind, key := m[1]+m[3], m[2]+m[4]
			if kind == "N" {
				seen[key+".one"], seen[key+".other"] = true, true
			} else {
				seen[key] = true
			}
			for _, k := range []string{key, key + ".one"} {
				if _, ok := texts["en"][k]; ok {
					key = ""
				}
			}
			if strings.HasPrefix(key, "field.") && texts["es"][key] != "" { // of a field services say in English themselves what is wrong with it
				key = ""
			}
			if key != "" && !strings.HasSuffix(key, ".") {
				t.Errorf("%s asks for %q, which the catalogue does not say", name, key)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	text := all.String()
	for _, key := range slices.Sorted(maps.Keys(texts["en"])) {
		if seen[key] || strings.Contains(text, `"`+key+`"`) || madeUp(text, key) {
			continue
		}
		t.Errorf("nobody asks for %q", key)
	}
}

// madeUp reports whether a key could be put together of a beginning that some page writes out, such as "kind" or "day.state.".
func madeUp(text, key string) bool {
	for i := len(key) - 1; i > 0; i-- {
		if key[i] != '.' && key[i] != '/' {
			continue
		}
		for _, beginning := range []string{key[:i], key[:i+1]} {
			if strings.Contains(text, `"`+beginning+`"`) {
				return true
			}
		}
	}
	return false
}

func TestLanguageOf(t *testing.T) {
	for accept, want := range map[string]string{"": "en", "es-MX,es;q=0.9,en;q=0.8": "es", "de-DE,de;q=0.9": "en", "fr, ES;q=0.5": "es", "en-US": "en", "*": "en"} {
		if got := LanguageOf(accept); got != want {
			t.Errorf("LanguageOf(%q) = %q, want %q", accept, got, want)
		}
	}
}
