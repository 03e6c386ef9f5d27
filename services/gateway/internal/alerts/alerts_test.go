package alerts_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/alerts"
	"tackfree/services/gateway/internal/words"
)

var noon = time.Date(2026, 3, 18, 12, 0, 0, 0, time.UTC)

func due(after time.Duration) *timestamppb.Timestamp { return timestamppb.New(noon.Add(after)) }

func TestSay(t *testing.T) {
	oily := func(after time.Duration) *materialsv1.Alert {
		return &materialsv1.Alert{Kind: "oily waste", Text: "In English.", DueTime: due(after)}
	}
	for name, c := range map[string]struct {
		alert   *materialsv1.Alert
		want    string // the beginning
		english bool
	}{
		"OfAProduct":      {&materialsv1.Alert{Kind: "order now", Product: "products/1", ProductName: "cera 100 %", Text: "In English."}, "Pide cera 100 % ya", false},
		"NobodySells":     {&materialsv1.Alert{Kind: "order now", Product: "products/1", ProductName: "cera", NobodySells: true}, "Pide cera ya: si no, falta antes de que llegue. Nadie lo vende, que se sepa; apunta quién.", false},
		"OfSeveral":       {&materialsv1.Alert{Kind: "order overdue", Text: "In English."}, "Un pedido no ha llegado", false},
		"OfOne":           {&materialsv1.Alert{Kind: "order overdue", Product: "products/1", ProductName: "cera", Text: "In English."}, "Un pedido de cera", false},
		"AKindNobodyHas":  {&materialsv1.Alert{Kind: "moths", Text: "In English."}, "In English.", true},
		"OilyToday":       {oily(time.Hour), "Hay trapos", false},
		"OilyDue":         {oily(0), "YA TOCA", false},
		"OilyStill":       {oily(-6*time.Hour + time.Second), "YA TOCA", false},
		"OilyLong":        {oily(-6 * time.Hour), "URGENTE", false},
		"OilyWithoutADay": {&materialsv1.Alert{Kind: "oily waste", Text: "In English."}, "Hay trapos", false},
	} {
		got, english := alerts.Say(&words.Voice{Language: "es"}, c.alert, noon)
		if !strings.HasPrefix(got, c.want) || english != c.english || strings.Contains(got, "%!") {
			t.Errorf("%s: Say = %q, %t; want %q …, %t", name, got, english, c.want, c.english)
		}
		if got, english := alerts.Say(&words.Voice{Language: "en"}, c.alert, noon); got != c.alert.Text || english {
			t.Errorf("%s: to those who read English Say = %q, %t", name, got, english)
		}
	}
}

// Every kind that a page has a word for has a sentence, of a product or of none.
func TestSay_EveryKind(t *testing.T) {
	v := &words.Voice{Language: "es"}
	for _, kind := range []string{"order now", "mix now", "stage stands still", "below threshold", "order overdue", "equipment service", "lot expires", "flammable liquids over limit", "oily waste"} {
		if !v.Has("stock.alert." + alerts.Word(kind)) {
			t.Errorf("nobody has a word for %q", kind)
		}
		of := &materialsv1.Alert{Kind: kind, Product: "products/1", ProductName: "cera", DueTime: due(0)}
		if _, english := alerts.Say(v, of, noon); !english {
			continue
		}
		of.Product = ""
		if _, english := alerts.Say(v, of, noon); english {
			t.Errorf("of %q nothing is said in Spanish", kind)
		}
	}
}

// Of oily waste each language says as much as the shop's own caution: what heats up, where it must not lie, what to
// do with it, and whose rules come first.
func TestSay_OilyWasteInFull(t *testing.T) {
	es, en := &words.Voice{Language: "es"}, &words.Voice{Language: "en"}
	texts := []string{es.T("keeping.oily.caution")}
	for _, after := range []time.Duration{time.Hour, 0, -7 * time.Hour} {
		text, _ := alerts.Say(es, &materialsv1.Alert{Kind: "oily waste", DueTime: due(after)}, noon)
		texts = append(texts, text)
	}
	for _, text := range texts {
		for _, word := range []string{"almohadillas", "polvo", "se calientan solos", "horas después", "montón", "bolsillo", "papelera abierta", "homologado", "con tapa y agua", "mismo día", "por separado", "normas locales", "licencia"} {
			if !strings.Contains(text, word) {
				t.Errorf("%q does not say %q", text, word)
			}
		}
	}
	b, err := os.ReadFile(filepath.Join("..", "..", "..", "materials", "internal", "materials", "oilywaste.go"))
	if err != nil {
		t.Fatal(err)
	}
	if own := strings.ReplaceAll(string(b), "\" +\n\t\"", ""); !strings.Contains(own, `"`+en.T("keeping.oily.caution")+`"`) {
		t.Error("the page says another caution than the shop's own")
	}
}
