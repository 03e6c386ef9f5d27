package report

import (
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// none is what stands where there is nothing to say.
const none = "–"

// Money writes an amount with all digits of its currency and none of its letters; none is
// a dash.
func Money(m *moneyv1.Money) string {
	if m == nil {
		return none
	}
	c, err := money.CurrencyOf(m.CurrencyCode)
	if err != nil {
		return "?"
	}
	a, _ := wire.FromMoney(m, c.Digits)
	return c.Format(a)
}

// Behind writes an amount behind words, such as ", worth 8.41"; nothing at all where the reader is not told it.
func Behind(words string, m *moneyv1.Money) string {
	if m == nil {
		return ""
	}
	return words + Money(m)
}

// zero reports no amount at all.
func zero(m *moneyv1.Money) bool { return m.GetUnits() == 0 && m.GetNanos() == 0 }

// Hours writes a length of time as hours, minutes and, where there are any, seconds: 1:05.
// None at all is a dash.
func Hours(d *durationpb.Duration) string { return hours(d.AsDuration()) }

func hours(d time.Duration) string {
	if d == 0 {
		return none
	}
	return Length(d)
}

// Length writes a length of time as Hours does, and none at all as 0:00.
func Length(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "-", -d
	}
	s := fmt.Sprintf("%s%d:%02d", sign, int(d.Hours()), int(d.Minutes())%60)
	if rest := int(d.Seconds()) % 60; rest != 0 {
		s += fmt.Sprintf(":%02d", rest)
	}
	return s
}

// shownDigits are those after the point of an amount of material: tenths of a millilitre.
const shownDigits = 4

// Quantity writes an amount of material to read, not to reckon with: rounded to four
// digits after the point.
func Quantity(q *typev1.Quantity) string {
	if q == nil {
		return none
	}
	exact, err := decimal.NewFromString(q.Value)
	if err != nil {
		return q.Value + " " + q.Unit
	}
	shown := exact.RoundBank(shownDigits)
	if shown.IsZero() && !exact.IsZero() {
		return "<" + decimal.New(1, -shownDigits).String() + " " + q.Unit
	}
	return shown.String() + " " + q.Unit
}

// State writes an enum's name for people: STATE_IN_HAND is "in hand".
func State(name string) string { return Kind(strings.ToLower(strings.TrimPrefix(name, "STATE_"))) }

// Kind writes what is done for people: topcoat_coat is "topcoat coat".
func Kind(kind string) string { return strings.ReplaceAll(kind, "_", " ") }

// Clip shortens a text to n characters.
func Clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
