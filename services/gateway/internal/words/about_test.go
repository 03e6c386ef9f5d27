package words

import (
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
)

func TestVoice_About(t *testing.T) {
	en := voice(t, "en", Metric, false)
	for _, c := range []struct {
		m                      *moneyv1.Money
		about, atMost, atLeast string
	}{
		{nil, "–", "–", "–"},
		{&moneyv1.Money{CurrencyCode: "USD", Units: 84, Nanos: 990_000_000}, "85", "84", "85"},
		{&moneyv1.Money{CurrencyCode: "USD", Units: 85}, "85", "85", "85"},
		{&moneyv1.Money{CurrencyCode: "USD", Units: -12, Nanos: -400_000_000}, "−12", "−13", "−12"},
		{&moneyv1.Money{CurrencyCode: "USD", Units: 1_234, Nanos: 10_000_000}, "1,234", "1,234", "1,235"},
	} {
		if got := en.About(c.m); got != c.about {
			t.Errorf("About(%v) = %q, want %q", c.m, got, c.about)
		}
		if got := en.AtMost(c.m); got != c.atMost {
			t.Errorf("AtMost(%v) = %q, want %q", c.m, got, c.atMost)
		}
		if got := en.AtLeast(c.m); got != c.atLeast {
			t.Errorf("AtLeast(%v) = %q, want %q", c.m, got, c.atLeast)
		}
	}
	yen := *en
	yen.Currency = money.Currency{Code: "JPY"}
	if got := yen.About(&moneyv1.Money{CurrencyCode: "JPY", Units: 8_500}); got != "8,500" {
		t.Errorf("About yen = %q", got)
	}
}

func TestVoice_Shares(t *testing.T) {
	en, es := voice(t, "en", Metric, false), voice(t, "es", Metric, false)
	for share, want := range map[float64]string{0: "0 %", 0.001: "1 %", 0.5: "50 %", 0.824: "82 %", 0.999: "99 %", 1: "100 %"} {
		if got := en.Percent(share); got != want {
			t.Errorf("Percent(%v) = %q, want %q", share, got, want)
		}
	}
	for share, want := range map[float64]string{0: "0 %", 0.001: "1 %", 0.825: "83 %", 0.99: "99 %", 0.996: "over 99 %", 1: "over 99 %"} {
		if got := en.Chance(share); got != want {
			t.Errorf("Chance(%v) = %q, want %q", share, got, want)
		}
	}
	if got := es.Chance(1); got != "más del 99 %" {
		t.Errorf("Chance(1) = %q", got)
	}
	for hours, want := range map[float64]string{0: "0:00", 7.333: "7:20", 1.99: "2:00", 11.04: "11:00"} {
		if got := en.HoursAbout(hours); got != want {
			t.Errorf("HoursAbout(%v) = %q, want %q", hours, got, want)
		}
	}
	for hours, want := range map[float64]string{0: "0:00", 5.49: "5:25", 5 + 5.0/12: "5:25", 1 + 25.0/60: "1:25", 2: "2:00", 1.999: "1:55"} {
		if got := en.HoursAtMost(hours); got != want {
			t.Errorf("HoursAtMost(%v) = %q, want %q", hours, got, want)
		}
	}
	if got := es.Decimal(-1234.567, 2); got != "−1.234,57" {
		t.Errorf("Decimal = %q", got)
	}
}
