package report

import (
	"fmt"
	"strings"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
)

// Money writes an amount with all digits of its currency and none of its letters; none is
// a dash.
func Money(m *moneyv1.Money) string {
	if m == nil {
		return "–"
	}
	c, err := money.CurrencyOf(m.CurrencyCode)
	if err != nil {
		return "?"
	}
	a, _ := wire.FromMoney(m, c.Digits)
	return c.Format(a)
}

// Hours writes a length of time as hours, minutes and, where there are any, seconds: 1:05.
func Hours(d *durationpb.Duration) string { return hours(d.AsDuration()) }

func hours(d time.Duration) string {
	if d == 0 {
		return "–"
	}
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

// State writes an enum's name for people: STATE_IN_HAND is "in hand".
func State(name string) string {
	return strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(name, "STATE_")), "_", " ")
}

// Clip shortens a text to n characters.
func Clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
