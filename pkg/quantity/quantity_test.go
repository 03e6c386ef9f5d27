package quantity_test

import (
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/quantity"
)

// Exact sizes: NIST Special Publication 811 and NIST Handbook 44, appendix C; the last
// column is arithmetic on them.
func TestInBase_IsExact(t *testing.T) {
	cases := []struct{ value, unit, want string }{
		{"1", "gal", "3.785411784 L"}, {"4", "qt", "3.785411784 L"}, {"8", "pt", "3.785411784 L"},
		{"128", "floz", "3.785411784 L"}, {"16", "cup", "3.785411784 L"}, {"1", "floz", "0.0295735295625 L"},
		{"1", "lb", "453.59237 g"}, {"16", "oz", "453.59237 g"}, {"2.5", "kg", "2500 g"},
		{"1", "in", "0.0254 m"}, {"12", "in", "0.3048 m"}, {"1", "yd", "0.9144 m"}, {"0.75", "L", "0.75 L"},
		{"3", "sheet", "3 each"},
	}
	for _, c := range cases {
		q, err := quantity.Parse(c.value, c.unit)
		if err != nil {
			t.Fatalf("Parse(%q, %q): %v", c.value, c.unit, err)
		}
		want, _ := decimal.NewFromString(c.want[:len(c.want)-len(" "+q.Unit.Base().Symbol)])
		if got := q.InBase(); !got.Value.Equal(want) || got.Unit.Symbol != q.Unit.Base().Symbol {
			t.Errorf("InBase(%v) = %v, want %s", q, got, c.want)
		}
	}
}

func TestParse_Refuses(t *testing.T) {
	for _, value := range []string{"", ".", "1.", ".5", "1e3", "NaN", "Inf", "+1", "1234567890", "0.123456789012345678901", "1,5", " 1", "0x1"} {
		if _, err := quantity.Parse(value, "L"); !fault.Is(err, "QUANTITY_MALFORMED") {
			t.Errorf("Parse(%q) = %v, want QUANTITY_MALFORMED", value, err)
		}
	}
	for _, symbol := range []string{"", "l", "litre", "GAL", "stone"} {
		if _, err := quantity.Parse("1", symbol); !fault.Is(err, "UNIT_UNKNOWN") {
			t.Errorf("Parse(1, %q) = %v, want UNIT_UNKNOWN", symbol, err)
		}
	}
}

func TestInBase_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		symbol := rapid.SampledFrom([]string{"gal", "floz", "lb", "in", "mL"}).Draw(t, "unit")
		a := draw(t, "a", symbol)
		b := draw(t, "b", symbol)
		sum := quantity.Quantity{Value: a.Value.Add(b.Value), Unit: a.Unit}
		if got, want := a.InBase().Value.Add(b.InBase().Value), sum.InBase().Value; !got.Equal(want) {
			t.Fatalf("%v and %v are %v apart, %v together", a, b, got, want)
		}
	})
}

func draw(t *rapid.T, label, symbol string) quantity.Quantity {
	q, err := quantity.Parse(rapid.StringMatching(`[0-9]{1,9}\.[0-9]{1,6}`).Draw(t, label), symbol)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func FuzzParse(f *testing.F) {
	f.Add("0.75", "L")
	f.Add("1e9", "gal")
	f.Fuzz(func(t *testing.T, value, symbol string) {
		q, err := quantity.Parse(value, symbol)
		if err != nil {
			return
		}
		again, err := quantity.Parse(q.Value.String(), symbol)
		if err != nil || !again.Value.Equal(q.Value) {
			t.Errorf("Parse(%q) = %v, which reads back as %v, %v", value, q, again, err)
		}
	})
}
