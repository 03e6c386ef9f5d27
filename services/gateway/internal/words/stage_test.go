package words

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

func TestVoice_StagesAreToldApart(t *testing.T) {
	for _, c := range []struct{ language, kind, title, want string }{
		{"en", "oil_coat", "oil-2 (top)", "oil-2 (top)"},
		{"es", "oil_coat", "oil-1 (top)", "mano de aceite 1 (top)"},
		{"es", "oil_coat", "oil-2 (top)", "mano de aceite 2 (top)"},
		{"es", "sand", "sand P120 (drawer 3)", "lijar (drawer 3)"},
		{"es", "inspect", "inspect", "inspeccionar"},
		{"es", "gilding", "gild-1 (top)", "gild-1 (top)"}, // a kind of the shop's own
	} {
		if got := (&Voice{Language: c.language}).StageTitle(c.kind, c.title); got != c.want {
			t.Errorf("StageTitle(%q, %q) in %s = %q, want %q", c.kind, c.title, c.language, got, c.want)
		}
	}
	v := &Voice{Language: "en"}
	if first, second := v.Stage("oil_coat", "oil-1"), v.Stage("oil_coat", "oil-2"); first != "oil coat 1" || second != "oil coat 2" {
		t.Errorf("two coats are %q and %q", first, second)
	}
	if first, second := v.StageOf("topcoat_coat", "topcoat-1 (legs)"), v.StageOf("topcoat_coat", "topcoat-2 (legs)"); first != "topcoat coat 1" || second != "topcoat coat 2" {
		t.Errorf("two coats of the legs are %q and %q", first, second)
	}
}

var (
	account = regexp.MustCompile(`(?m)^  - \{name: (\w+), title: ([^,]+), kind:`)
	kind    = regexp.MustCompile(`\bKind = "([a-z_]+)"`)
)

// Each account of the books that come with the program has a name, and each kind of stage that plans have a word.
func TestCatalogue_NamesAccountsAndStages(t *testing.T) {
	rules, err := os.ReadFile(filepath.Join("..", "..", "..", "costing", "internal", "costing", "rules.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	accounts := account.FindAllStringSubmatch(string(rules), -1)
	for _, a := range accounts {
		if texts["en"]["account."+a[1]] != a[2] {
			t.Errorf("account %s is called %q, and %q in the books", a[1], texts["en"]["account."+a[1]], a[2])
		}
		if got := (&Voice{Language: "es"}).Account(a[1], a[2]); got == a[2] {
			t.Errorf("account %s is called %q in Spanish too", a[1], got)
		}
	}
	stages, err := os.ReadFile(filepath.Join("..", "..", "..", "..", "pkg", "finish", "step.go"))
	if err != nil {
		t.Fatal(err)
	}
	kinds := kind.FindAllStringSubmatch(string(stages), -1)
	for _, k := range kinds {
		if texts["es"]["kind."+k[1]] == "" {
			t.Errorf("kind %s has no word in Spanish", k[1])
		}
	}
	if len(accounts) < 15 || len(kinds) < 15 {
		t.Errorf("%d accounts and %d kinds were found", len(accounts), len(kinds))
	}
}

// Spanish has one word for a stage and one for what something costs.
func TestCatalogue_OneWordInSpanish(t *testing.T) {
	other := regexp.MustCompile(`(?i)\bcostos?\b|\b(?:un|%d|%\[1\]d|los|todos los|más) pasos?\b|"Paso\b`)
	for key, text := range texts["es"] {
		if other.MatchString(text) && !regexp.MustCompile(`^fault\.ROUTE`).MatchString(key) { // a route has steps, of which stages are made
			t.Errorf("%s: %q", key, text)
		}
	}
}

func TestVoice_CountsDays(t *testing.T) {
	for days, want := range map[int32][2]string{1: {"in 1 day", "en 1 día"}, 19: {"in 19 days", "en 19 días"}} {
		for i, language := range []string{"en", "es"} {
			if got := (&Voice{Language: language}).SoldIn(days); got != want[i] {
				t.Errorf("SoldIn(%d) in %s = %q, want %q", days, language, got, want[i])
			}
		}
	}
}

// What is counted in a text that has no other for one reads well of one as well: it stands behind its word.
func TestCatalogue_CountsOne(t *testing.T) {
	counted := regexp.MustCompile(`%(?:\[\d\])?d (?:\w+ )?(?:days|hours|pieces|people|events|lines|weeks|months|días|horas|piezas|personas|sucesos|líneas|semanas|meses)\b`)
	for _, language := range Languages {
		for key, text := range texts[language] {
			if counted.MatchString(text) && !regexp.MustCompile(`\.(one|other)$`).MatchString(key) {
				t.Errorf("%s: %s is wrong of one: %q", language, key, text)
			}
		}
	}
}

// Where something stands is left away or said to be not noted; nobody is blamed.
func TestCatalogue_PlacesNotNoted(t *testing.T) {
	for key, want := range map[string][2]string{"day.rack.nozone": {"Place not noted", "Sitio sin anotar"}, "piece.stands.none": {"not noted", "sin anotar"}} {
		if texts["en"][key] != want[0] || texts["es"][key] != want[1] {
			t.Errorf("%s: %q, %q", key, texts["en"][key], texts["es"][key])
		}
	}
}
