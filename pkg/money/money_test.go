package money_test

import (
	"math/big"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Minor units of ISO 4217 (list one).
func TestCurrencyOf_MinorUnits(t *testing.T) {
	want := map[string]int{
		"USD": 2, "EUR": 2, "GBP": 2, "CAD": 2, "AUD": 2, "CHF": 2, "MXN": 2, "INR": 2,
		"JPY": 0, "KRW": 0, "CLP": 0, "VND": 0, "ISK": 0,
		"BHD": 3, "KWD": 3, "OMR": 3, "JOD": 3, "TND": 3, "IQD": 3, "LYD": 3, "CLF": 4, "UYW": 4, "MGA": 2, "MRU": 2,
	}
	for code, digits := range want {
		got, err := money.CurrencyOf(code)
		if err != nil || got.Digits != digits || got.Code != code {
			t.Errorf("CurrencyOf(%q) = %+v, %v, want %d digits", code, got, err, digits)
		}
	}
	for _, code := range []string{"", "usd", "US", "XYZ", "DOLLAR"} {
		if _, err := money.CurrencyOf(code); !fault.Is(err, "CURRENCY_UNKNOWN") {
			t.Errorf("CurrencyOf(%q) = %v, want CURRENCY_UNKNOWN", code, err)
		}
	}
}

func TestCurrency_ParseAndFormat(t *testing.T) {
	usd, jpy := currency(t, "USD"), currency(t, "JPY")
	for in, want := range map[string]money.Amount{"0": 0, "12": 1200, "12.5": 1250, "-12.50": -1250, "0.01": 1} {
		if got, err := usd.Parse(in); err != nil || got != want {
			t.Errorf("Parse(%q) = %v, %v, want %v", in, got, err, want)
		}
	}
	for _, in := range []string{"", "12.505", "1e3", "1e1000000000", "twelve", "12,50", "99999999999999", "1 2"} {
		if got, err := usd.Parse(in); !fault.Is(err, "AMOUNT_MALFORMED") {
			t.Errorf("Parse(%q) = %v, %v, want AMOUNT_MALFORMED", in, got, err)
		}
	}
	if got := usd.Format(-1250); got != "-12.50" {
		t.Errorf("Format(-1250) = %q, want -12.50", got)
	}
	if got := jpy.Format(1250); got != "1250" {
		t.Errorf("JPY Format(1250) = %q, want 1250", got)
	}
}

// The half-even column of a table of rounding cases computed by hand: 0.125 at two
// places is 12.5 at integers, and so on.
func TestRound_HalfToEven(t *testing.T) {
	cases := map[string]money.Amount{
		"234.5": 234, "235.5": 236, "12.5": 12, "37.5": 38, "100.5": 100, "267.5": 268,
		"0.5": 0, "1.5": 2, "2.5": 2, "-0.5": 0, "-1.5": -2, "-2.5": -2, "2.4999": 2, "-2.5001": -3, "7": 7,
	}
	for in, want := range cases {
		r, _ := new(big.Rat).SetString(in)
		if got := money.Round(r); got != want {
			t.Errorf("Round(%s) = %d, want %d", in, got, want)
		}
	}
}

func currency(t *testing.T, code string) money.Currency {
	t.Helper()
	c, err := money.CurrencyOf(code)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
