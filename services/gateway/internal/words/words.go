// Package words is the one catalogue of what pages say, in each language, and how they write
// money, times and measures for whoever reads them.
//
//	en/*.json, es/*.json ──▶ Catalogue ──▶ Voice (one reader's language, units, clock, zone) ──▶ templates
//
// A key is the page and what is said there, such as "day.ready". A text may hold verbs of
// package fmt; where languages order them differently it numbers them. A key that counts
// something has two texts, key.one and key.other.
package words

import (
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
)

//go:embed en es
var files embed.FS

// Languages are those in which everything can be said, the first where nobody asked for another.
var Languages = []string{"en", "es"}

// texts are by language and key.
var texts = load()

func load() map[string]map[string]string {
	all := map[string]map[string]string{}
	for _, language := range Languages {
		all[language] = map[string]string{}
		names, err := fs.Glob(files, path.Join(language, "*.json"))
		if err != nil {
			panic(err) // the pattern is ours
		}
		for _, name := range names {
			maps.Copy(all[language], read(name))
		}
	}
	return all
}

func read(name string) map[string]string {
	b, err := files.ReadFile(name)
	if err != nil {
		panic(err) // it is compiled in
	}
	var some map[string]string
	if err := json.Unmarshal(b, &some); err != nil {
		panic(fmt.Errorf("%s: %w", name, err)) // found by the first test that runs
	}
	return some
}

// T says a key's text in the reader's language. A key that is in no catalogue shows as itself,
// in brackets; a test finds it.
func (v *Voice) T(key string, args ...any) string {
	text, ok := texts[v.Language][key]
	if !ok {
		return "[" + key + "]"
	}
	if len(args) == 0 {
		return text
	}
	return fmt.Sprintf(text, args...)
}

// N says how many there are of something: key.one or key.other, with the number as the first argument.
func (v *Voice) N(key string, n int, args ...any) string {
	form := ".other"
	if n == 1 {
		form = ".one"
	}
	return v.T(key+form, append([]any{n}, args...)...)
}

// Word says a word of the trade that routes and people use, such as topcoat_coat: its text in the
// catalogue under the prefix, or for a word of the shop's own the word itself, readable.
func (v *Voice) Word(prefix, word string) string {
	if text, ok := texts[v.Language][prefix+"."+word]; ok {
		return text
	}
	return strings.ReplaceAll(word, "_", " ")
}

// Has reports whether the catalogue has a key.
func (v *Voice) Has(key string) bool {
	_, ok := texts[v.Language][key]
	return ok
}

// LanguageOf gives the first of Languages that a browser's Accept-Language names.
func LanguageOf(accept string) string {
	for part := range strings.SplitSeq(accept, ",") {
		tag, _, _ := strings.Cut(strings.TrimSpace(part), ";")
		base, _, _ := strings.Cut(strings.ToLower(tag), "-")
		if slices.Contains(Languages, base) {
			return base
		}
	}
	return Languages[0]
}
