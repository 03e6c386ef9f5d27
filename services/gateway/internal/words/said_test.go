package words

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	typev1 "tackfree/proto/tackfree/type/v1"
)

func TestVoice_Sentence(t *testing.T) {
	es, en := voice(t, "es", Metric, false), voice(t, "en", Metric, false)
	es.Zone = time.UTC
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	lacking := func(count, level string) *typev1.Said {
		f := map[string]string{"count": count, "skill": "spray", "person": "Nell"}
		if level != "" {
			f["level"] = level
		}
		return &typev1.Said{Reason: "SKILL_LACKING", Figures: f}
	}
	for _, c := range []struct {
		said *typev1.Said
		want string
	}{
		{lacking("1", ""), "1 etapa pide el oficio «spray», que Nell no tiene."},
		{lacking("2", "3"), "2 etapas piden el oficio «spray» en el nivel 3, que Nell no tiene."},
		{&typev1.Said{Reason: "STILL_DRY", Figures: map[string]string{"count": "1", "until_time": "2026-03-02T16:30:00Z", "stage": "oil-2 (top)", "kind": "oil_coat", "piece": "101"}},
			"1 aún seca, hasta 16:30: mano de aceite 2 (top), de la pieza 101."},
		{&typev1.Said{Reason: "PUT_OFF", Figures: map[string]string{"stage": "sand", "kind": "sand", "back_date": "2026-03-09", "until_date": "2026-03-05"}},
			"lijar queda para el 9 mar 2026, y el plan llega hasta el 5 mar 2026."},
		{&typev1.Said{Reason: "FROM_TOMORROW"}, "In English."},
		{nil, "In English."},
	} {
		if got := es.Sentence(c.said, "In English.", now); got != c.want {
			t.Errorf("Sentence(%v) = %q, want %q", c.said, got, c.want)
		}
		if got := en.Sentence(c.said, "In English.", now); got != "In English." {
			t.Errorf("Sentence(%v) in English = %q", c.said, got)
		}
	}
	off := &typev1.Said{Reason: "DAY_OFF"}
	if got := es.Sentences([]*typev1.Said{off, off}, "In English.", now); got != "día libre día libre" {
		t.Errorf("Sentences = %q", got)
	}
	if got := es.Sentences([]*typev1.Said{off, {Reason: "FROM_TOMORROW"}}, "In English.", now); got != "In English." {
		t.Errorf("Sentences of one that nobody knows = %q", got)
	}
}

var (
	told        = regexp.MustCompile(`(?:sentence\.New\(|about\([^"\n]+, )"([A-Z_]+)"`)
	figure      = regexp.MustCompile(`\b(?:With|On|At)\("(\w+)"`)
	placeholder = regexp.MustCompile(`\{(\w+)\}`)
)

// Every sentence that a service puts into its answers has one in each other language, which names nothing
// that the service does not tell.
func TestCatalogue_SaysSentences(t *testing.T) {
	reasons, figures := map[string]bool{}, map[string]bool{}
	files, err := filepath.Glob(filepath.Join("..", "..", "..", "*", "internal", "*", "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(name, "_test.go") || !strings.Contains(string(b), "tackfree/pkg/sentence") {
			continue
		}
		for _, m := range told.FindAllStringSubmatch(string(b), -1) {
			reasons[m[1]] = true
		}
		for _, m := range figure.FindAllStringSubmatch(string(b), -1) {
			figures[m[1]] = true
		}
	}
	for _, language := range Languages[1:] {
		for r := range reasons {
			if key := "said." + r; texts[language][key] == "" && texts[language][key+".one"]+texts[language][key+".other"] == "" {
				t.Errorf("%s does not say %s", language, r)
			}
		}
		for key, text := range texts[language] {
			reason, says := strings.CutPrefix(key, "said.")
			reason, _, _ = strings.Cut(reason, ".")
			if says && !reasons[reason] {
				t.Errorf("%s says %s, which no service does", language, reason)
			}
			for _, m := range placeholder.FindAllStringSubmatch(text, -1) {
				if says && !figures[m[1]] {
					t.Errorf("%s: %s names %s, which no service tells", language, key, m[1])
				}
			}
		}
	}
	if len(reasons) < 30 {
		t.Errorf("only %d sentences were found", len(reasons))
	}
}

// What is counted has a word in each language, of one and of more.
func TestVoice_CountedUnits(t *testing.T) {
	for _, c := range []struct{ language, value, unit, want string }{
		{"es", "1", "sheet", "1 hoja"}, {"es", "3", "sheet", "3 hojas"}, {"es", "12", "each", "12 unidades"}, {"es", "2", "roll", "2 rollos"},
		{"en", "3", "sheet", "3 sheets"}, {"en", "12", "each", "12 each"}, {"es", "1", "disc", "1 disco"},
	} {
		if got := voice(t, c.language, Metric, false).Quantity(&typev1.Quantity{Value: c.value, Unit: c.unit}); got != c.want {
			t.Errorf("Quantity of %s %s in %s = %q, want %q", c.value, c.unit, c.language, got, c.want)
		}
	}
	all := regexp.MustCompile(`unit\("([a-z]+)", Count`)
	b, err := os.ReadFile(filepath.Join("..", "..", "..", "..", "pkg", "quantity", "quantity.go"))
	if err != nil {
		t.Fatal(err)
	}
	counted := all.FindAllStringSubmatch(string(b), -1)
	for _, u := range counted {
		if texts["es"]["unit."+u[1]] == "" || texts["es"]["unit."+u[1]] == u[1] {
			t.Errorf("%q has no word in Spanish", u[1])
		}
	}
	if len(counted) < 5 {
		t.Errorf("only %d counted units were found", len(counted))
	}
}
