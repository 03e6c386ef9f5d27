package words

import (
	"strconv"
	"strings"

	"github.com/shopspring/decimal"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func number(n int64) string { return strconv.FormatInt(n, 10) }

func two(n int64) string {
	if n < 10 {
		return "0" + number(n)
	}
	return number(n)
}

// Money writes an amount in the shop's currency, grouped and with a sign that can be told from a dash.
func (v *Voice) Money(m *moneyv1.Money) string {
	if m == nil {
		return v.T("none")
	}
	a, ok := wire.FromMoney(m, v.Currency.Digits)
	if !ok {
		return v.T("none")
	}
	return v.Amount(a)
}

// Amount writes minor units of the shop's currency.
func (v *Voice) Amount(a money.Amount) string {
	text := v.Currency.Format(a)
	sign := ""
	if rest, negative := strings.CutPrefix(text, "-"); negative {
		sign, text = "−", rest
	}
	whole, fraction, has := strings.Cut(text, ".")
	out := sign + v.grouped(whole)
	if has {
		out += v.T("decimal.point") + fraction
	}
	return out
}

// grouped parts a number's digits in threes as the language does.
func (v *Voice) grouped(whole string) string {
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + v.T("decimal.group") + whole[i:]
	}
	return whole
}

// readable are the units in which people read amounts, by measure and system, from the largest.
var readable = map[Units]map[quantity.Measure][]string{
	Metric:   {quantity.Volume: {"L", "mL"}, quantity.Mass: {"kg", "g"}, quantity.Length: {"m", "cm"}},
	Imperial: {quantity.Volume: {"gal", "qt", "floz"}, quantity.Mass: {"lb", "oz"}, quantity.Length: {"ft", "in"}},
}

// Quantity writes an amount in the reader's own units, rounded to three digits: what is kept is exact,
// what is shown need not be.
func (v *Voice) Quantity(q *typev1.Quantity) string {
	if q == nil {
		return v.T("none")
	}
	exact, err := quantity.Parse(q.Value, q.Unit)
	if err != nil {
		return q.Value + " " + q.Unit
	}
	for _, symbol := range readable[v.Units][exact.Unit.Measure] {
		u, err := quantity.UnitOf(symbol)
		if err != nil {
			continue
		}
		if in := exact.In(u); in.Abs().GreaterThanOrEqual(decimal.NewFromInt(1)) || symbol == smallest(v.Units, exact.Unit.Measure) {
			return v.decimal(threeDigits(in)) + " " + v.units(symbol, in)
		}
	}
	return v.decimal(threeDigits(exact.Value)) + " " + v.units(exact.Unit.Symbol, exact.Value)
}

// Unit writes a unit as people do: its symbol as it stands on a can, and what is counted by its word.
func (v *Voice) Unit(symbol string) string { return v.Word("unit", symbol) }

// units is Unit of so much: of one, or of more.
func (v *Voice) units(symbol string, n decimal.Decimal) string {
	if key := "unit.more." + symbol; !n.Abs().Equal(decimal.NewFromInt(1)) && v.Has(key) {
		return v.T(key)
	}
	return v.Unit(symbol)
}

func smallest(u Units, m quantity.Measure) string {
	all := readable[u][m]
	return all[len(all)-1]
}

// threeDigits rounds to three digits that count, whole numbers to the whole.
func threeDigits(d decimal.Decimal) decimal.Decimal {
	switch a := d.Abs(); {
	case a.GreaterThanOrEqual(decimal.NewFromInt(100)):
		return d.Round(0)
	case a.GreaterThanOrEqual(decimal.NewFromInt(10)):
		return d.Round(1)
	}
	return d.Round(2)
}

func (v *Voice) decimal(d decimal.Decimal) string {
	return strings.Replace(d.String(), ".", v.T("decimal.point"), 1)
}

// Celsius writes a temperature in the reader's degrees.
func (v *Voice) Celsius(c float64) string {
	if v.Units == Imperial {
		return strconv.FormatFloat(c*9/5+32, 'f', 0, 64) + " °F"
	}
	return strings.Replace(strconv.FormatFloat(c, 'f', 1, 64), ".", v.T("decimal.point"), 1) + " °C"
}
