package typed_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

func form(values url.Values) *typed.Form {
	return &typed.Form{Values: values, Voice: &words.Voice{Language: "en", Zone: time.UTC, Currency: money.Currency{Code: "EUR", Digits: 2}}}
}

func TestForm_Reads(t *testing.T) {
	f := form(url.Values{"amount": {" 2,5 "}, "unit": {"L"}, "cost": {"24,90"}, "day": {"2026-03-18"}, "days": {"30"}, "flash": {"-4.5"}})
	if q := f.Quantity("amount", "unit"); q.Value != "2.5" || q.Unit != "L" {
		t.Errorf("Quantity = %v, want 2.5 L", q)
	}
	if m := f.Money("cost"); m.Units != 24 || m.Nanos != 900_000_000 || m.CurrencyCode != "EUR" {
		t.Errorf("Money = %v, want 24.90 EUR", m)
	}
	if d := f.Day("day"); typed.Day(d) != "2026-03-18" {
		t.Errorf("Day = %v", d)
	}
	if n := f.Whole("days"); n != 30 {
		t.Errorf("Whole = %d, want 30", n)
	}
	if v := f.Number("flash"); typed.Number(v) != "-4.5" {
		t.Errorf("Number = %v, want -4.5", v)
	}
	if at := f.ATime("07:05"); typed.Time(at) != "07:05" {
		t.Errorf("ATime = %v, want 07:05", at)
	}
	if err := f.Err(); err != nil {
		t.Error(err)
	}
}

// What is read off a rule in inches is kept exactly; a fraction that no decimal says is refused.
func TestForm_Quantity_Fractions(t *testing.T) {
	for text, want := range map[string]string{"18 1/2": "18.5", "18½": "18.5", "3/4": "0.75", " 7 5/16 ": "7.3125", "18,5": "18.5"} {
		f := form(url.Values{"it": {text}, "unit": {"in"}})
		if q := f.Quantity("it", "unit"); q.GetValue() != want || q.GetUnit() != "in" || f.Err() != nil {
			t.Errorf("Quantity(%q) = %v, %v, want %s in", text, q, f.Err(), want)
		}
	}
	for _, text := range []string{"1/3", "18 1/2 1/4", "3/2", "1/0", "½ or so"} {
		f := form(url.Values{"it": {text}})
		if q := f.Quantity("it", "unit"); q != nil || !fault.Is(f.Err(), "NUMBER_UNREADABLE") {
			t.Errorf("Quantity(%q) = %v, %v, want NUMBER_UNREADABLE", text, q, f.Err())
		}
	}
}

// Who groups digits means what the page shows so: 1,048.91 is a thousand and more, in each language's way. What can
// be read in two ways is asked for again.
func TestForm_GroupsOfDigits(t *testing.T) {
	for name, c := range map[string]struct{ language, text, money, quantity string }{
		"english":           {"en", "1,048.91", "1048.91", "1048.91"},
		"spanish":           {"es", "1.048,91", "1048.91", "1048.91"},
		"another's":         {"en", "1.048,91", "1048.91", "1048.91"},
		"twice":             {"en", "1,250,000", "1250000.00", "1250000"},
		"a thousand":        {"en", "1,250", "1250.00", ""},
		"mil":               {"es", "1.250", "1250.00", ""},
		"a comma":           {"en", "24,90", "24.90", "24.90"},
		"un punto":          {"es", "24.90", "24.90", "24.90"},
		"three decimals":    {"en", "1.250", "", "1.250"},
		"tres decimales":    {"es", "1,250", "", "1.250"},
		"as it is kept":     {"es", "1.125", "1125.00", "1.125"},
		"below one":         {"en", "0,125", "", "0.125"},
		"no groups of them": {"en", "12,50,000", "", ""},
		"two points":        {"en", "1.5.2", "", ""},
	} {
		f := &typed.Form{Values: url.Values{"it": {c.text}}, Voice: &words.Voice{Language: c.language, Zone: time.UTC, Currency: money.Currency{Code: "EUR", Digits: 2}}}
		if q := f.Quantity("it", "unit"); q.GetValue() != c.quantity || (q == nil) != (f.Err() != nil) {
			t.Errorf("%s: the quantity %q is %v, %v; want %q", name, c.text, q, f.Err(), c.quantity)
		}
		f = &typed.Form{Values: f.Values, Voice: f.Voice}
		m := f.Money("it")
		if got := amount(m); got != c.money || (m == nil) != (f.Err() != nil) {
			t.Errorf("%s: the amount %q is %s, %v; want %q", name, c.text, got, f.Err(), c.money)
		}
	}
	f := form(url.Values{"it": {"1,500"}})
	f.Quantity("it", "unit")
	if err := f.Err(); !fault.Is(err, "NUMBER_OF_TWO_MEANINGS") || !strings.Contains(err.Error(), "1500 or as 1.5.") {
		t.Errorf("1,500 litres: %v, want it asked for again", err)
	}
}

func amount(m *moneyv1.Money) string {
	if m == nil {
		return ""
	}
	return fmt.Sprintf("%d.%02d", m.Units, m.Nanos/1e7)
}

// Nothing is something else than a nought.
func TestForm_WholeSaid(t *testing.T) {
	f := form(url.Values{"none": {" 0 "}, "some": {"12"}, "word": {"few"}})
	if v := f.WholeSaid("none"); v == nil || *v != 0 || typed.WholeSaid(v) != "0" {
		t.Errorf("of 0 it is %v", v)
	}
	if v := f.WholeSaid("some"); v == nil || *v != 12 {
		t.Errorf("of 12 it is %v", v)
	}
	if v := f.WholeSaid("empty"); v != nil || typed.WholeSaid(v) != "" || f.Err() != nil {
		t.Errorf("of nothing it is %v, %v", v, f.Err())
	}
	if f.WholeSaid("word"); !fault.Is(f.Err(), "NUMBER_UNREADABLE") {
		t.Errorf("of a word it is %v", f.Err())
	}
}

func TestForm_NothingTyped(t *testing.T) {
	f := form(url.Values{"amount": {"  "}})
	if f.Quantity("amount", "unit") != nil || f.Money("cost") != nil || f.Day("day") != nil || f.Whole("days") != 0 || f.Number("flash") != nil || f.ATime("") != nil || f.Err() != nil {
		t.Errorf("an empty form is not empty: %v", f.Err())
	}
}

func TestForm_Refuses(t *testing.T) {
	cases := map[string]func(*typed.Form){
		"NUMBER_UNREADABLE": func(f *typed.Form) { f.Quantity("it", "unit") },
		"AMOUNT_MALFORMED":  func(f *typed.Form) { f.Money("it") },
		"DAY_UNREADABLE":    func(f *typed.Form) { f.Day("it") },
		"TIME_UNREADABLE":   func(f *typed.Form) { f.ATime("it") },
	}
	for reason, read := range cases {
		f := form(url.Values{"it": {"12,34.5"}})
		read(f)
		if err := f.Err(); !fault.Is(err, reason) {
			t.Errorf("%v, want %s", err, reason)
		}
	}
	f := form(url.Values{"it": {"1.5"}, "other": {"x"}})
	f.Whole("it")
	f.Number("other")
	if got, want := fault.Of(f.Err()).Text, f.Voice.T("typed.whole", "1.5"); got != want {
		t.Errorf("the first that cannot be read: %q, want %q", got, want)
	}
}
