package commissioned

import (
	"embed"
	"encoding/json"
	"fmt"
	"strings"
)

// Languages are those that letters are written in.
var Languages = []string{"en", "es"}

//go:embed en.json es.json
var files embed.FS

// texts are what letters say beside what people typed, by language and key. Cautions are the usual ones of the trade;
// local codes come first.
var texts = read()

func read() map[string]map[string]string {
	all := map[string]map[string]string{}
	for _, language := range Languages {
		b, err := files.ReadFile(language + ".json")
		if err != nil {
			panic(err) // it is compiled in
		}
		var some map[string]string
		if err := json.Unmarshal(b, &some); err != nil {
			panic(fmt.Errorf("%s: %w", language, err)) // found by the first test that runs
		}
		all[language] = some
	}
	return all
}

// t says a text in the letter's language.
func (o Order) t(key string, args ...any) string {
	text := texts[o.Language][key]
	if len(args) == 0 {
		return text
	}
	return fmt.Sprintf(text, args...)
}

func (o Order) has(key string) bool { return texts[o.Language][key] != "" }

// joined are the texts that say something, with a comma between them.
func joined(all ...string) string { return strings.Join(filled(all...), ", ") }
