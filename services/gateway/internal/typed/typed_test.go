package typed_test

import (
	"net/url"
	"testing"
	"time"

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
		f := form(url.Values{"it": {"1,234.5"}})
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
