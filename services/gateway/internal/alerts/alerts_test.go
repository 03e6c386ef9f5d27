package alerts_test

import (
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
		if got, english := alerts.Say(&words.Voice{Language: "en"}, c.alert, noon); got != "In English." || english {
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
